"""Sound heard again: archives of visits, and recordings of which it is known what was said.

In: folders of visits with their kept sound. Out: a folder of results, one file a visit, that says
where a new hearing, with a newer grammar or another engine, carries other values than the journal.
No journal is touched: what to take over is decided by a person in the review. A run that was
stopped goes on where it was.

Of a user's labelled recordings: what is heard right, asked about, and stored wrong unasked.
"""

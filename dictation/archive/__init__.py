"""An archive of visits heard again: with a newer grammar or another engine, in many processes.

In: folders of visits with their kept sound. Out: a folder of results, one file a visit, that says
where a new hearing carries other values than the journal. No journal is touched: what to take over
is decided by a person in the review. A run that was stopped goes on where it was.
"""

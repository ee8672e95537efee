"""What a person sees: the live screen, and the table at the end.

In: a ``Visit`` and its flags. Out: text for a width. Words stand beside every colour, and text that
was dictated or imported can neither move the cursor nor colour anything.
"""

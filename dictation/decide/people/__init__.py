"""What people ask for by key, at the desk or on a page; and what is open to them.


In words of their own they name a thing and a deed; what the deed means is decided as any input.
"""

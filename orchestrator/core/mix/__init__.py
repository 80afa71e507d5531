"""Mix arithmetic: what recipes are made of, what follows for freezing, air and cost, and how to balance them.

`book_of` and `composition` are the way in. Nothing that decides, replays or plans imports this: it loads numpy.
"""

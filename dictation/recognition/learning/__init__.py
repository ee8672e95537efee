"""Teaching the speech model: its network, one step of learning, the way back into its files.

In: a model folder, sound, and the words said in it. Out: a folder of the same kind with other
numbers in it. Needs the extra ``learn``; nothing that listens imports this.
"""

"""The farm's list: to print, in plain words, each part in the order people work through it.

In: a visit and its flags. Out: HTML, and PDF made of the same HTML. It records what was said and
orders nothing: what is to be done stands in the vet's words.
"""

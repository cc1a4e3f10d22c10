"""The case log: possible cases with a handful of answers each, their changes, and how these are taken back.

What the answers are and how they are typed is `answers`; what they come to is told above this room.
"""

"""The editor of a plan: what stands in its forms, what was typed, the steps that reshape it, what the page shows.  Pure.

`parts` say what a form of each section holds; `typed` turns what was sent into a tree of typed texts and that into
plan data; `steps` add, remove and move conditions in the tree; `shown` is the form as the page draws it.
Names of fields are the paths by which `plans.plan_file` tells faults, so that each fault finds its field.
"""

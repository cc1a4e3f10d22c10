"""The case log: possible cases in a table, the least each can come to, files in and out."""

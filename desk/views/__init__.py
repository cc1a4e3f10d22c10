"""Views of the desk: they read a request, call one service or selector, and answer."""

"""The desk: a page on which a planner moves stations and sees at once whom they serve, and its server.

Its parts are imported one by one, for the libraries of the server are an extra and slow to load.
"""

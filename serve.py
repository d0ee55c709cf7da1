"""Starts the page. ``curvelab serve`` does the same, with options."""

from curvelab.app.server import serve

if __name__ == "__main__":
    serve()

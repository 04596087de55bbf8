"""Drawings and sheets: SVG figures, HTML pages, PDF through typst."""

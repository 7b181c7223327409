"""One page for the bow case: to print, and as Markdown."""

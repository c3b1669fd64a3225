"""The whole job by clicks and keys in a browser."""

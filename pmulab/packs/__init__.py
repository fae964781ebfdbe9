"""The file that leaves the studio for the study group, and distrust of those that come in."""

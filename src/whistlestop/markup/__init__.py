"""The one writer of HTML, with the one style sheet that all printed pages share."""

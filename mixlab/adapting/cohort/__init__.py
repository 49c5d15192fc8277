"""A cohort's folder: notebooks in the site's words, the site file and a stamp."""

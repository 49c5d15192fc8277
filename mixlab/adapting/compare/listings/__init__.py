"""What there is on a site: everything a learner can see, listed kind by kind."""

"""The decision before a dose: give, report, ask, check or treat first."""

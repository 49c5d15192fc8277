"""The nouns of the ward: frozen records that say what is there and judge nothing."""

"""NEXUS (Maddison, Swofford and Maddison 1997): the matrix of the reference out and in."""

"""How much: free bodies, muscle force, joint force, relief, strength."""

"""Page layouts declared as data, and the page geometry made from them. Imports nothing of ours."""

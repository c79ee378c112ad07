"""An unsound puzzle goes in, and why it is so and how to mend it come out; or a recipe, and a new puzzle."""

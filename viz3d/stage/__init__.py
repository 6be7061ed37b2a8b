"""Pictures as data: a plan in the world, a drawing on the page. Nothing here draws."""

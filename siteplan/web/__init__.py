"""The local drawing page: it draws and shows; the plan is made by the same rooms as on the command line."""

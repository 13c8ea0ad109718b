"""One module a manoeuvre: where the tug lies, how she is kept there, when the station is lost."""

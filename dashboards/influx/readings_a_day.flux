// How many readings each cell of each station has, day by day.
bucket = "recovery"
station = "heron"
cell = "River-1"
start = 2026-05-17T00:00:00Z
stop = 2026-05-18T00:00:00Z

from(bucket: bucket)
	|> range(start: start, stop: stop)
	|> filter(fn: (r) => r._measurement == "line_force" and r._field == "raw")
	|> count()
	|> keep(columns: ["station", "cell", "day", "_value"])
	|> group()
	|> sort(columns: ["day", "station", "cell"])

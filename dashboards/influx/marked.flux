// Readings of which the cell said something: overload, invalid, lost.
bucket = "recovery"
station = "heron"
cell = "River-1"
start = 2026-05-17T00:00:00Z
stop = 2026-05-18T00:00:00Z

from(bucket: bucket)
	|> range(start: start, stop: stop)
	|> filter(fn: (r) => r._measurement == "line_force" and r._field == "mark" and r.station == station and r.cell == cell)
	|> keep(columns: ["_time", "_value"])

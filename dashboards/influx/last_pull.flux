// The trace of the latest pull, every reading, with a second of quiet line at both ends.
bucket = "recovery"
station = "heron"
cell = "River-1"
start = 2026-05-17T00:00:00Z
stop = 2026-05-18T00:00:00Z

ends = from(bucket: bucket)
	|> range(start: start, stop: stop)
	|> filter(fn: (r) => r._measurement == "pull" and r.station == station and r.cell == cell)
	|> filter(fn: (r) => r._field == "start_ns" or r._field == "end_ns")
	|> pivot(rowKey: ["_time"], columnKey: ["_field"], valueColumn: "_value")
	|> group()
	|> sort(columns: ["_time"])
	|> tail(n: 1)
	|> tableFind(fn: (key) => true)
	|> getRecord(idx: 0)

from(bucket: bucket)
	|> range(start: time(v: ends.start_ns - 1000000000), stop: time(v: ends.end_ns + 1000000000))
	|> filter(fn: (r) => r._measurement == "line_force" and r._field == "newtons" and r.station == station and r.cell == cell)
	|> keep(columns: ["_time", "_value"])

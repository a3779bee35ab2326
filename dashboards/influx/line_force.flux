// Force on the line for drawing: the largest and the smallest of each tenth of a second, in kN.
bucket = "recovery"
station = "heron"
cell = "River-1"
start = 2026-05-17T00:00:00Z
stop = 2026-05-18T00:00:00Z

readings = from(bucket: bucket)
	|> range(start: start, stop: stop)
	|> filter(fn: (r) => r._measurement == "line_force" and r._field == "newtons" and r.station == station and r.cell == cell)
	|> map(fn: (r) => ({r with _value: r._value / 1000.0}))

union(tables: [
	readings |> aggregateWindow(every: 100ms, fn: max, createEmpty: false) |> set(key: "_field", value: "largest_kN"),
	readings |> aggregateWindow(every: 100ms, fn: min, createEmpty: false) |> set(key: "_field", value: "smallest_kN"),
])
	|> keep(columns: ["_time", "_field", "_value"])
	|> sort(columns: ["_time"])

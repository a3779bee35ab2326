// Shock factors of kinetic pulls by ground: the median and the largest.
bucket = "recovery"
station = "heron"
cell = "River-1"
start = 2026-05-17T00:00:00Z
stop = 2026-05-18T00:00:00Z

pulls = from(bucket: bucket)
	|> range(start: start, stop: stop)
	|> filter(fn: (r) => r._measurement == "pull")
	|> filter(fn: (r) => r._field == "shock_factor" or r._field == "ground" or r._field == "kind")
	|> pivot(rowKey: ["_time", "station", "cell"], columnKey: ["_field"], valueColumn: "_value")
	|> filter(fn: (r) => r.kind == "kinetic" and r.shock_factor > 0.0)
	|> group(columns: ["ground"])

union(tables: [
	pulls |> median(column: "shock_factor", method: "exact_mean") |> set(key: "what", value: "median"),
	pulls |> max(column: "shock_factor") |> keep(columns: ["ground", "shock_factor"]) |> set(key: "what", value: "largest"),
])
	|> group()
	|> sort(columns: ["ground", "what"])

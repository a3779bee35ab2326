// The largest peak of each strap, and how many pulls it was in.
bucket = "recovery"
station = "heron"
cell = "River-1"
start = 2026-05-17T00:00:00Z
stop = 2026-05-18T00:00:00Z

pulls = from(bucket: bucket)
	|> range(start: start, stop: stop)
	|> filter(fn: (r) => r._measurement == "pull" and r.station == station)
	|> filter(fn: (r) => r._field == "peak_N" or r._field == "strap")
	|> pivot(rowKey: ["_time", "cell"], columnKey: ["_field"], valueColumn: "_value")
	|> group(columns: ["strap"])

join(
	tables: {peak: pulls |> max(column: "peak_N") |> keep(columns: ["strap", "peak_N"]), number: pulls |> count(column: "peak_N") |> rename(columns: {peak_N: "pulls"})},
	on: ["strap"],
)
	|> group()
	|> sort(columns: ["peak_N"], desc: true)

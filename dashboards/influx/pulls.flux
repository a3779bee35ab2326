// The pulls of a day, one row each: peak with the interval of the true peak, rise, shock factor.
bucket = "recovery"
station = "heron"
cell = "River-1"
start = 2026-05-17T00:00:00Z
stop = 2026-05-18T00:00:00Z

from(bucket: bucket)
	|> range(start: start, stop: stop)
	|> filter(fn: (r) => r._measurement == "pull" and r.station == station and r.cell == cell)
	|> pivot(rowKey: ["_time"], columnKey: ["_field"], valueColumn: "_value")
	|> group()
	|> sort(columns: ["_time"])
	|> keep(columns: ["_time", "pull_id", "kind", "ground", "strap", "peak_N", "peak_low_N", "peak_high_N", "rise_rate_N_per_s", "reference_kg", "shock_factor", "flags"])

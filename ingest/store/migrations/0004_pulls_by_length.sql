-- For the look-up of a pull that the analysis has found again (pull.go): it
-- begins at most the length of the cell's longest pull earlier.

CREATE INDEX pulls_by_length ON pulls (cell, end_ns - start_ns);

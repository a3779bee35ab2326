package web

import (
	"time"

	"tautlog/calc/unit"
	"tautlog/ingest/watch"
)

// workView is what a line has carried today, the largest load first.
type workView struct {
	Since, Until string
	Rows         []workRow
}

type workRow struct {
	Force, Time string
	Cycles      int
}

// workToday tells what the line of a cell has carried today; nil where it is not
// watched or nothing came yet.
func (s *server) workToday(cell int64, u unit.ForceUnit) *workView {
	if s.Watcher == nil {
		return nil
	}
	done := s.Watcher.Work(cell)
	if done.Since == 0 {
		return nil
	}
	v := &workView{Since: s.timeOfDay(done.Since), Until: s.timeOfDay(done.Until)}
	for i := len(done.Classes) - 1; i >= 0; i-- {
		if c := done.Classes[i]; c.Seconds > 0 || c.Cycles > 0 {
			v.Rows = append(v.Rows, workRowOf(c, u))
		}
	}
	return v
}

func workRowOf(c watch.WorkClass, u unit.ForceUnit) workRow {
	width := c.To - c.From
	return workRow{Force: text("work.class", c.From.Show(u, width/2), c.To.Show(u, width/2)), Time: seconds(c.Seconds), Cycles: c.Cycles}
}

func (s *server) timeOfDay(ns int64) string { return time.Unix(0, ns).In(s.Zone).Format("15:04:05") }

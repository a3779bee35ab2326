package archive

import (
	"fmt"
	"strings"
	"time"

	"github.com/influxdata/influxdb-client-go/v2/api/query"
)

// literal is a text as it stands in a question in Flux.
func literal(s string) string { return `"` + literalEscapes.Replace(s) + `"` }

var literalEscapes = strings.NewReplacer(`\`, `\\`, `"`, `\"`, `${`, `\${`)

// moment is a time as it stands in a question in Flux.
func moment(ns int64) string { return time.Unix(0, ns).UTC().Format(time.RFC3339Nano) }

func ofMeasurement(name string) string {
	return fmt.Sprintf(` |> filter(fn: (r) => r._measurement == %s)`, literal(name))
}

func ofCell(c Cell) string {
	return fmt.Sprintf(` |> filter(fn: (r) => r.cell == %s and r.station == %s)`, literal(c.Name), literal(c.Station))
}

func field(name string) string {
	return fmt.Sprintf(` |> filter(fn: (r) => r._field == %s)`, literal(name))
}

// tagOf is a tag of a row; empty where it has none.
func tagOf(r *query.FluxRecord, name string) string {
	tag, _ := r.ValueByKey(name).(string)
	return tag
}

package rehearse

import (
	"fmt"

	"tautlog/ingest/wire"
)

// Ask has the second cell of the world, which sends lines of text, send
// nothing by itself: it gives the same readings when it is asked, with a string
// (wire.Text) or by Modbus (wire.Modbus).
func (w *World) Ask(how wire.Format) error {
	c := &w.Benches[1].Cell
	lines := c.Wire.Text
	ask := wire.Ask{Every: 1000 / c.Rate}
	switch how {
	case wire.Text:
		ask.Poll = `R\r`
		c.Wire = wire.Config{Format: wire.Text, Text: lines, Ask: ask}
	case wire.Modbus:
		c.Wire = wire.Config{Format: wire.Modbus, Ask: ask, Modbus: wire.ModbusConfig{
			Address: 17, Function: 4, Register: 0, Type: "int32", Order: "CDAB", Unit: lines.Unit, Decimals: lines.Decimals,
		}}
	default:
		return fmt.Errorf("%w: %q is no way to ask it: use %s or %s", ErrCell, how, wire.Text, wire.Modbus)
	}
	return c.Validate()
}

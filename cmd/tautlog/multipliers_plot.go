package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
	"tautlog/calc/unit"
	"tautlog/dashboards/plot"
)

// multiplierPlot is what was asked of "tautlog multipliers plot".
type multiplierPlot struct {
	source  pullsSource
	what    string
	out     string
	like    shock.Pull
	assumed multiplierFlag
}

// newMultipliersPlot draws logged pulls and what was fitted to them.
func newMultipliersPlot() *cobra.Command {
	m := &multiplierPlot{}
	c := &cobra.Command{
		Use:   "plot --what speed|residuals|classes -o FILE.svg|FILE.png PULLS.csv | --data DIR",
		Short: "Draw logged pulls and their fit, for a report",
		Long: `Draws one figure, as SVG or PNG by the name of the file ("-" is SVG on standard
output):

  speed      shock factors against speed with the expected curve and the bound,
             a panel for each ground; --strap, --puller and --stuck choose for
             what the curves are drawn
  residuals  peaks over what the speed fit expects of them, by speed and by day
  classes    each class with its pulls, median and bound; --assume adds an
             assumed multiplier

` + pullsTable + "\n\n" + fromLog,
		Example: "  tautlog multipliers plot --what speed -o speed.svg PULLS.csv",
		RunE:    m.run,
	}
	c.Args = m.source.check
	m.source.add(c)
	f := c.Flags()
	f.StringVar(&m.what, "what", "", "`figure` to draw: speed, residuals or classes")
	f.StringVarP(&m.out, "output", "o", "", "`file` to write, .svg or .png; \"-\" is SVG on standard output")
	f.StringVar(&m.like.Class.Strap, "strap", "", "`strap` of the speed figure; otherwise the one with the most pulls")
	f.Var(&quantityFlag[unit.Mass]{kind: "mass", value: &m.like.Puller, parse: unit.ParseMass, positive: true}, "puller", "`mass` of the pulling vehicle for the curves; otherwise that of the latest pull")
	f.Var(&quantityFlag[unit.Mass]{kind: "mass", value: &m.like.Reference, parse: unit.ParseMass, positive: true}, "stuck", "`mass` of the vehicle that is pulled, for the curves")
	f.Var(&m.assumed, "assume", "assumed `multiplier` to draw beside the classes")
	return c
}

func (m *multiplierPlot) run(c *cobra.Command, args []string) error {
	format := strings.ToLower(filepath.Ext(m.out))
	if m.out == "-" {
		format = ".svg"
	}
	if format != ".svg" && format != ".png" {
		return usagef("plot wants a file to write: -o FILE.svg or -o FILE.png; see: %s --help", c.CommandPath())
	}
	figure, known := m.figures()[m.what]
	if !known {
		return usagef("--what %q is no figure: write speed, residuals or classes; see: %s --help", m.what, c.CommandPath())
	}
	pulls, from, err := m.source.read(c, args)
	if err != nil {
		return err
	}
	drawn, err := figure(pulls)
	if err != nil {
		return fmt.Errorf("%s: %w", from, err)
	}
	write := drawn.SVG
	if format == ".png" {
		write = drawn.PNG
	}
	if m.out == "-" {
		return write(c.OutOrStdout())
	}
	return writeFile(m.out, func(w io.Writer) error { return write(w) })
}

// figures are the figures that can be drawn, by name.
func (m *multiplierPlot) figures() map[string]func([]shock.Pull) (plot.Figure, error) {
	return map[string]func([]shock.Pull) (plot.Figure, error){
		"speed": func(pulls []shock.Pull) (plot.Figure, error) {
			c, err := shock.ChartSpeed(pulls, m.like)
			if err != nil {
				return plot.Figure{}, err
			}
			return plot.Speed(c), nil
		},
		"residuals": func(pulls []shock.Pull) (plot.Figure, error) {
			c, err := shock.ChartResiduals(pulls)
			if err != nil {
				return plot.Figure{}, err
			}
			return plot.Residuals(c), nil
		},
		"classes": func(pulls []shock.Pull) (plot.Figure, error) {
			c, err := shock.ChartClasses(pulls, float64(m.assumed))
			if err != nil {
				return plot.Figure{}, err
			}
			return plot.Classes(c), nil
		},
	}
}

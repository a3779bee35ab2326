package steady_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/steady"
	"tautlog/calc/unit"
)

// record is a row of a reference file by the names of its columns.
type record map[string]string

func (r record) number(t *testing.T, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[column], 64)
	require.NoError(t, err, "%s of %v", column, r)
	return v
}

// reference reads a file of testdata/steady, each of which names its sources.
func reference(t *testing.T, name string) []record {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "steady", name))
	require.NoError(t, err)
	defer f.Close()
	c := csv.NewReader(f)
	c.Comment, c.FieldsPerRecord = '#', -1
	rows, err := c.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 1)
	var out []record
	for _, row := range rows[1:] {
		r := record{}
		for i, v := range row {
			r[rows[0][i]] = v
		}
		out = append(out, r)
	}
	return out
}

// words of the source's text by the letter that the files give it.
var letters = map[string]string{
	"A": "earth moving", "B": "university lecture", "C": "Carvill", "D": "Marks", "E": "engineering reference table", "F": "recovery case",
}

// printed is a coefficient that a source prints.
type printed struct {
	letter, surface, vehicle string
	low, high                float64
}

func coefficients(t *testing.T) []printed {
	t.Helper()
	var all []printed
	for _, r := range reference(t, "rolling_resistance_tables.csv") {
		if strings.HasPrefix(r["status"], "READ") {
			all = append(all, printed{r["source"], r["surface"], "", r.number(t, "low"), r.number(t, "high")})
		}
	}
	for _, r := range reference(t, "rolling_grade_rules.csv") {
		if strings.HasPrefix(r["id"], "RR-B") {
			v := r.number(t, "coefficient")
			all = append(all, printed{"B", r["surface"], r["vehicle"], v, v})
		}
	}
	return all
}

func (p printed) is(r steady.Row) bool {
	return strings.Contains(r.Source.Text, letters[p.letter]) && strings.Contains(p.surface, r.Words) &&
		(p.vehicle == "" || p.vehicle == r.For) && p.low == r.Values.Low && p.high == r.Values.High
}

// Every coefficient that was read is in the tables, and nothing else is.
func TestCoefficientsAreThoseOfTheSources(t *testing.T) {
	t.Parallel()
	var rows []steady.Row
	for _, s := range steady.Surfaces() {
		rows = append(rows, s.Rows...)
	}
	all := coefficients(t)
	require.Len(t, all, 17+9, "the files have as many rows that were read")
	for _, p := range all {
		assert.True(t, slices.ContainsFunc(rows, p.is), "%+v is missing", p)
	}
	for _, r := range rows {
		if strings.Contains(r.Source.Text, letters["A"]) {
			continue // TestPenetration
		}
		assert.True(t, slices.ContainsFunc(all, func(p printed) bool { return p.is(r) }), "%+v is in no source", r)
		assert.Equal(t, steady.Read, r.Source.Status)
	}
}

// rule is the value of one rule of the earth-moving chapter.
func rule(t *testing.T, id string) float64 {
	t.Helper()
	for _, r := range reference(t, "rolling_grade_rules.csv") {
		if r["id"] == id {
			return r.number(t, "coefficient")
		}
	}
	t.Fatalf("no rule %s", id)
	return 0
}

func TestPenetration(t *testing.T) {
	t.Parallel()
	s, err := steady.SurfaceNamed("firm")
	require.NoError(t, err)
	p := steady.Plan{Mass: 1000, Surface: &s, Line: steady.Line{Parts: 1}}
	for _, inches := range []float64{0, 1, 2.5, 6} {
		p.Penetration = unit.Length(inches * 0.0254)
		r := calculate(t, p)
		assert.InEpsilon(t, rule(t, "RR-A0")+rule(t, "RR-A1")*inches, float64(r.Resistance.Likely/p.Mass.Weight()), 1e-12)
	}
}

func TestGradeByPercent(t *testing.T) {
	t.Parallel()
	for _, percent := range []float64{1, 5, 20, 60} {
		got := steady.GradeByPercent(20000, unit.Angle(math.Atan(percent/100)))
		assert.InEpsilon(t, rule(t, "GR-A")*percent*20000, float64(got), 1e-12)
	}
}

// The rule of degrees over 60 is FROM MEMORY: this checks the arithmetic. It
// lies within 7 % of the sine up to 45°, which is why it is taught.
func TestGradeByDegrees(t *testing.T) {
	t.Parallel()
	for _, deg := range []float64{5, 10, 20, 30, 40, 45} {
		got := float64(steady.GradeByDegrees(1, unit.Degrees(deg)))
		assert.InEpsilon(t, deg/60, got, 1e-9)
		assert.InEpsilon(t, math.Sin(deg*math.Pi/180), got, 0.07, "%g°", deg)
	}
	assert.Equal(t, unit.Force(12), steady.GradeByDegrees(12, unit.Degrees(46)))
}

// The chart cuts its last digit off.
func TestBlockFactors(t *testing.T) {
	t.Parallel()
	rows := reference(t, "block_angle_factors.csv")
	require.Len(t, rows, 21)
	for _, r := range rows {
		deg := r.number(t, "angle_deg")
		assert.InDelta(t, r.number(t, "printed_factor"), steady.BlockFactor(unit.Degrees(deg)), 0.01, "%g°", deg)
	}
}

// Worked examples of two reprints of the chart: line pull, angle, load on the
// block, in lb; the last in kg, of another table. A factor printed to 0.01
// gives the load to 1 % of the line pull.
func TestBlockExamples(t *testing.T) {
	t.Parallel()
	for _, c := range [][3]float64{
		{1000, 50, 1810}, {1000, 135, 760}, {500, 0, 1000}, {500, 30, 965}, {500, 90, 705}, {500, 160, 175}, {150, 100, 194},
	} {
		s, err := steady.SurfaceNamed("loose-sand")
		require.NoError(t, err)
		mass := unit.Mass(c[0] / unit.StandardGravity) // weighs the line pull
		r := calculate(t, steady.Plan{Mass: mass, Surface: &s, OwnRolling: &steady.Own{Share: steady.Exactly(1.0)},
			Line: steady.Line{Parts: 1, Redirects: []unit.Angle{unit.Degrees(c[1])}}})
		require.Len(t, r.Blocks, 1)
		assert.InDelta(t, c[2], float64(r.Blocks[0].Load.Likely), 0.01*c[0])
	}
}

// The printed pulls, and the ratios by the radius of the drum: each layer adds
// a tenth.
func TestWinchLayers(t *testing.T) {
	t.Parallel()
	rows := reference(t, "winch_layer_pull.csv")
	require.Len(t, rows, steady.LastLayer())
	for _, r := range rows {
		n := r.number(t, "layer")
		pull, err := steady.Winch{Rated: 20000 * unit.PoundForce, Layer: int(n)}.Pull()
		require.NoError(t, err)
		assert.False(t, pull.Wide())
		assert.InEpsilon(t, r.number(t, "max_line_pull_lbf"), pull.Likely.In(unit.PoundF), 0.005)
		assert.InEpsilon(t, r.number(t, "printed_kg"), pull.Likely.In(unit.KilogramF), 0.005)
		assert.InEpsilon(t, r.number(t, "ratio_to_layer1"), float64(pull.Likely/(20000*unit.PoundForce)), 0.005)
		assert.InEpsilon(t, 1/(1+0.1*(n-1)), float64(pull.Likely/(20000*unit.PoundForce)), 0.005)
	}
}

// A full drum may leave only half of the rated pull (US Army course 63B34G01
// slide 12), and the table's last layer leaves 0.7127.
func TestFullDrum(t *testing.T) {
	t.Parallel()
	pull, err := steady.Winch{Rated: 1000, Layer: steady.FullDrum}.Pull()
	require.NoError(t, err)
	assert.InDelta(t, 500, float64(pull.Low), 1e-9)
	assert.InDelta(t, 712.7, float64(pull.High), 0.05)
}

// The chain of the army sheet from load resistance to fall line.
func TestTackleChain(t *testing.T) {
	t.Parallel()
	depths := map[string]steady.Mire{"1": steady.WheelDeep, "2": steady.FenderDeep, "3": steady.CabDeep}
	rows := reference(t, "tackle_constructed_vectors.csv")
	require.Len(t, rows, 5)
	const raised = "no (raise to MA 3)"
	for i, c := range rows {
		lb := func(column string) float64 { return c.number(t, column) }
		within := func(column string, got unit.Force) {
			assert.InDelta(t, lb(column), got.In(unit.PoundF), 1, "%s of %s", column, c["id"])
		}
		winch := unit.Force(lb("winch_capacity_lb")) * unit.PoundForce
		r := calculate(t, steady.Plan{
			Mass: unit.Mass((lb("weight_lb") + lb("cargo_lb")) * 0.45359237), Mire: depths[c["mire_factor"]],
			Line:  steady.Line{Parts: int(lb("MA")), Sheaves: int(lb("sheaves"))},
			Winch: &steady.Winch{Rated: winch, Layer: 1},
		})
		within("LR_lb", r.Resistance.Likely)
		within("TR_lb", r.Tackle.Force.Likely)
		within("total_lb", r.Resistance.Likely+r.Tackle.Force.Likely)
		within("fall_line_lb", r.Line.Likely)
		assert.Equal(t, c["within_capacity"] == "yes", r.Line.High < r.Winch.Pull.Low, c["id"])
		assert.True(t, r.FromMemory(), "the mire factors are")
		if c["within_capacity"] == raised {
			assert.Equal(t, int(lb("MA")), steady.MechanicalAdvantage(r.Resistance.Likely, winch))
			assert.Equal(t, int(rows[i+1].number(t, "MA")), r.Winch.Parts, "raised as in the next row")
		} else {
			assert.Equal(t, int(lb("MA")), r.Winch.Parts)
		}
	}
}

func calculate(t interface {
	require.TestingT
	Helper()
}, p steady.Plan) steady.Result {
	t.Helper()
	r, err := steady.Calculate(p)
	require.NoError(t, err)
	return r
}

package chain_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/dashboards/chain"
)

func item(name string, k gear.Kind, kN float64) rig.Use {
	return rig.Use{Item: gear.Item{Name: name, Kind: k, Ratings: []gear.Rating{{Value: unit.Force(kN * 1000), Basis: gear.WLL}}}}
}

func inLine(name string, k gear.Kind, kN float64) rig.Link {
	u := item(name, k, kN)
	return rig.Link{Use: &u}
}

// bridled is a kinetic rig whose stuck end has a bridle over two points.
func bridled() rig.Rig {
	strap := item("bridle 3 m", gear.Bridle, 60)
	return rig.Rig{
		Name: "strap and bridle", Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: "Otter"},
		Chain: []rig.Link{
			inLine("rear point of Heron", gear.RecoveryPoint, 50),
			inLine("bow shackle 12", gear.BowShackle, 46.6),
			inLine("River-1", gear.LoadCell, 100),
			inLine("soft shackle 4", gear.SoftShackle, 60),
			inLine("blue strap 9 m", gear.RecoveryStrap, 40),
			{Bridle: &rig.Bridle{Included: unit.Degrees(60), Strap: &strap,
				Left:  []rig.Use{item("bow shackle 7", gear.BowShackle, 31.9), item("front left point", gear.RecoveryPoint, 20)},
				Right: []rig.Use{item("bow shackle 8", gear.BowShackle, 31.9), item("front right point", gear.RecoveryPoint, 25)}}},
		},
	}
}

// judged is a result made by hand: drawing is what is under test.
func judged(peak float64, items ...rating.Item) *rating.Result {
	return &rating.Result{Peak: rating.Peak{Value: unit.Force(peak)}, Items: items, Verdict: items[0].Verdict, Summary: "One item was over its rating."}
}

func of(ref string, v rating.Verdict, share float64, reason string) rating.Item {
	it := rating.Item{Ref: ref, Reason: reason, Load: rating.Load{Verdict: v}}
	if share > 0 {
		it.Utilisation = &share
	}
	return it
}

func bridledResult() *rating.Result {
	return judged(47300,
		of("6.left.2", rating.Over, 1.37, "The front left point carried 27.3 kN, 137 % of its WLL of 20 kN, if the bridle shared equally."),
		of("5", rating.OverBreaking, 1.18, ""), of("2", rating.Inside, 1.0, ""), of("1", rating.Inside, 0.95, ""),
		of("3", rating.Inside, 0.47, ""), of("4", rating.NotJudged, 0, ""), of("6.strap", rating.NotRated, 0.45, ""),
		of("6.left.1", rating.Inside, 0.85, ""), of("6.right.1", rating.Inside, 0.85, ""), of("6.right.2", rating.Inside, 0.7, ""))
}

func TestLook(t *testing.T) {
	for _, f := range []chain.Form{chain.Wide, chain.Tall, chain.Mini} {
		out, err := os.Create(filepath.Join(os.Getenv("SHOTS"), "look-"+string(f)+".svg"))
		require.NoError(t, err)
		require.NoError(t, chain.SVG(out, bridled(), bridledResult(), chain.Options{Form: f}))
	}
}

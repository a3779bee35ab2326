package web

import (
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/dashboards/chain"
	"tautlog/ingest/store"
)

func use(name string, k gear.Kind, kN float64) rig.Use {
	return rig.Use{Item: gear.Item{Name: name, Kind: k, Ratings: []gear.Rating{{Value: unit.Force(kN * 1000), Basis: gear.WLL}}}}
}
func inl(name string, k gear.Kind, kN float64) rig.Link { u := use(name, k, kN); return rig.Link{Use: &u} }

func TestPreview(t *testing.T) {
	gvm := unit.Mass(2800)
	g := rig.Rig{Name: "strap and bridle", Pulling: gear.Vehicle{Name: "Heron"}, Stuck: gear.Vehicle{Name: "Otter", GVM: &gvm}, Chain: []rig.Link{
		inl("rear point of Heron", gear.RecoveryPoint, 50), inl("bow shackle 12", gear.BowShackle, 46.6), inl("River-1", gear.LoadCell, 100),
		inl("soft shackle 4", gear.SoftShackle, 60), inl("blue strap 9 m", gear.RecoveryStrap, 40), inl("bow shackle 14", gear.BowShackle, 46.6), inl("front point of Otter", gear.RecoveryPoint, 40)}}
	s := &server{Config: Config{Zone: time.UTC, Demo: true, Now: time.Now}}
	s.assets, _ = loadAssets()
	var err error
	s.pages, err = loadPages()
	require.NoError(t, err)
	reb := 1.4
	f := pull.Pull{Start: 1.77e18, End: 1.77e18 + 2.1e9, PeakAt: 1.77e18 + 4.2e8, Kind: pull.Kinetic, Peak: 47300, PeakLow: 46900, PeakHigh: 52100, RiseTime: 0.31, RiseRate: 122000, MaxRise: 240000,
		Rebounds: 2, Rebound: &reb, Samples: 2100, Rate: 1000, Noise: 25, PeakReading: 47400, Filter: "CFC 60", PeakFiltered: 47310, ToPeak: 9000, Impulse: 25000, AboveHalf: .5,
		Remarks: []string{"2 readings are missing just beside the largest one, so the true peak may lie in the gap."},
		Terms:   []pull.Term{{Name: "sampling", High: 4300, Note: "from the shape around the peak"}, {Name: "calibration", Low: 230, High: 230}, {Name: "noise", Low: 50, High: 50}}}
	res := s.result(store.Pull{ID: 12, Found: f, Kind: pull.Kinetic, Rig: nil, Settled: true, Ground: "wet sand", Notes: "second try"}, "River-1", unit.Kilonewton)
	one, two, three := 1.18, 1.01, 0.47
	jr := &rating.Result{Items: []rating.Item{
		{Ref: "5", Name: "blue strap 9 m", Reason: "The blue strap 9 m carried 47.3 kN, 118 % of its WLL of 40 kN.", Load: rating.Load{Verdict: rating.Over, Utilisation: &one}},
		{Ref: "2", Name: "bow shackle 12", Reason: "It carried 47.3 kN, 101 % of its WLL of 46.6 kN.", Load: rating.Load{Verdict: rating.Over, Utilisation: &two}},
		{Ref: "4", Name: "soft shackle 4", Reason: "No rating is recorded for it.", Load: rating.Load{Verdict: rating.NotJudged}},
		{Ref: "3", Name: "River-1", Reason: "It carried 47.3 kN, 47 % of its WLL of 100 kN.", Load: rating.Load{Verdict: rating.Inside, Utilisation: &three}},
	}, Summary: "The blue strap 9 m was over its rating; it was the nearest to its limit.", Remarks: []string{"The mass of the gear itself is neglected."}}
	res.RigName, res.Unjudged, res.Summary, res.RigRemarks = g.Name, "", jr.Summary, jr.Remarks
	for i, it := range jr.Items {
		res.Verdicts = append(res.Verdicts, verdict{Item: it, Weakest: i == 0})
	}
	res.draw(g, jr, unit.Kilonewton)
	res.Facts[1].Value = shock(47300, &g, unit.Kilonewton)
	cell := store.Cell{Name: "River-1", Rate: 1000}
	o := chain.Options{ID: "now-"}
	bodies := map[string]any{
		"first": nil, "plan": nil,
		"line": lineView{Cell: cell, Cells: []store.Cell{cell, {Name: "River-2"}}, Statuses: []cellSaid{{"River-1", "River-1 is connected and read just now."}, {"River-2", "No reading from cell River-2 for 3 s. Check the plug at the amplifier. Recording continues when it returns; the gap is kept."}},
			Recording: true, Force: "47.3", Unit: "kN", PerNewton: .001, State: "The line is taut.", Peak: "Largest so far in this pull: 47.3 kN", IsTaut: true, InForce: &g, Ground: "wet sand", Results: []result{res},
			Rigs: []store.Document[rig.Rig]{{ID: 1, Value: g}}, RigID: 1, Wide: drawn(g, nil, o, chain.Wide), Tall: drawn(g, nil, o, chain.Tall)},
		"pulls": pullsView{Cells: []store.Cell{cell}, Kinds: kinds(), Days: []dayOfPulls{{"12 March 2026", []result{res, res, res}}}},
		"pull":  pullView{result: res, Measured: measured(f, "kN"), Terms: terms(f, "kN"), Kinds: kinds(), KindNow: "kinetic", Unit: "kN", PerNewton: .001, Zoom: zoomOf(f), Undo: []string{"kind was steady"}},
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /assets/{version}/{name}", func(w http.ResponseWriter, r *http.Request) { _ = s.asset(w, r) })
	mux.HandleFunc("GET /p/{name}", func(w http.ResponseWriter, r *http.Request) {
		n := r.PathValue("name")
		require.NoError(t, s.show(w, r, n, n, bodies[n]))
	})
	srv := httptest.NewServer(mux)
	defer srv.Close()
	for n := range bodies {
		for size, wh := range map[string]string{"phone": "390,1600", "laptop": "1366,1400"} {
			out, err := exec.Command("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--screenshot="+os.Getenv("SHOTS")+"/pre-"+n+"-"+size+".png", "--window-size="+wh, srv.URL+"/p/"+n).CombinedOutput()
			require.NoError(t, err, string(out))
		}
	}
}

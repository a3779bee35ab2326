package web

import (
	"net/http"
	"net/url"
	"runtime/debug"
	"slices"
)

// effect is what a request may change. The router decides by it who may send
// the request and how its form is read, so that no page can forget to.
type effect string

const (
	// showing changes nothing: any number of times, by anybody who may look.
	showing effect = "shows"
	// choosing changes what this browser keeps, and nothing that others see.
	choosing effect = "chooses"
	// writing changes what the store keeps.
	writing effect = "writes"
)

// answerer answers a request, or says why not.
type answerer func(http.ResponseWriter, *http.Request) error

// route is one line of the table of all that the pages answer to.
type route struct {
	pattern string // of http.ServeMux: a method and a path
	effect  effect
	answer  answerer
	most    int64 // bytes of its form that are read
	many    bool  // its form may bring files
	file    bool  // its form brings one large file, which the answerer reads as it comes

	anybody   bool // needs no sign-in
	operators bool // is for operators only, though it changes nothing
}

// reads is a route that changes nothing. Its method is GET.
func reads(pattern string, a answerer) route {
	return route{pattern: pattern, effect: showing, answer: a}
}

// chooses is a route whose form changes what this browser keeps.
func chooses(pattern string, a answerer) route {
	return route{pattern: pattern, effect: choosing, answer: a, most: maxBody}
}

// writes is a route whose form changes what the store keeps. Before it
// answers, the form has been read into r.PostForm and its token checked.
func writes(pattern string, a answerer) route {
	return route{pattern: pattern, effect: writing, answer: a, most: maxBody}
}

// upTo gives a route another limit for its form, in bytes.
func (rt route) upTo(most int64) route {
	rt.most = most
	return rt
}

// withFiles lets the form of a route bring files, up to most bytes in all.
func (rt route) withFiles(most int64) route {
	rt.most, rt.many = most, true
	return rt
}

// withPictures lets the form of a route bring pictures.
func (rt route) withPictures() route { return rt.withFiles(maxUpload) }

// withLargeFile has a form bring one file as its last field, which is not kept
// anywhere: the answerer reads it from fileOf as it comes.
func (rt route) withLargeFile(most int64) route {
	rt.most, rt.file = most, true
	return rt
}

// toAnybody opens a route to those who have not signed in.
func (rt route) toAnybody() route {
	if rt.effect == writing {
		panic("web: " + rt.pattern + " changes what the store keeps: it cannot be for anybody")
	}
	rt.anybody = true
	return rt
}

// toOperators closes a route to those who may only look.
func (rt route) toOperators() route {
	rt.operators = true
	return rt
}

// routes is the table of everything that the pages answer to.
func (s *server) routes() []route {
	return slices.Concat([]route{
		reads("GET /{$}", s.first),
		chooses("POST /choose", s.choose).toAnybody(),
		reads("GET /assets/{version}/{name}", s.asset).toAnybody(),
	}, s.sampleRoutes(), s.exchangeRoutes(), s.traceInRoutes(), s.keptRoutes(), s.lineRoutes(), s.dayRoutes(), s.dayEditRoutes(), s.cellRoutes(), s.newCellRoutes(), s.pullRoutes(), s.planRoutes(), s.multiplierRoutes(), s.gearRoutes(), s.vehicleRoutes(), s.rigRoutes(), s.firstRigRoutes(), s.signInRoutes(), s.guideRoutes(), s.peopleRoutes())
}

func (s *server) lineRoutes() []route {
	return []route{
		reads("GET /line", s.line),
		reads("GET /line/results", s.lineResults),
		reads("GET /line/rig", s.lineRig),
		writes("POST /line/setup", s.setUp),
		writes("POST /line/undo", s.undoSetUp),
		reads("GET /api/live", s.live),
		reads("GET /api/cells", s.apiCells),
		reads("GET /api/trace", s.apiTrace),
	}
}

func (s *server) pullRoutes() []route {
	return []route{
		reads("GET /pulls", s.pulls),
		reads("GET /pulls/{id}", s.pull),
		reads("GET /pulls/{id}/result", s.pullResult),
		reads("GET /pulls/{id}/over", s.overlay),
		reads("GET /api/pulls/{id}/over", s.apiOverlay),
		writes("POST /pulls/{id}", s.editPull),
		writes("POST /pulls/{id}/undo", s.undo),
		writes("POST /pulls/{id}/answer", s.answerAsk),
		writes("POST /pulls/{id}/again", s.measurePullAgain),
		writes("POST /pulls/{id}/photos", s.addPhotos).withPictures(),
		writes("POST /pulls/{id}/photos/away", s.takePhotoAway),
		writes("POST /pulls/{id}/proof", s.keepProof),
		writes("POST /pulls/{id}/rig", s.rigOfPull),
		reads("GET /pulls/{id}/limits", s.triedLimits),
		writes("POST /pulls/{id}/limits", s.setLimits),
		reads("GET /pulls/{id}/review", s.triedParting),
		writes("POST /pulls/{id}/review", s.reviewPull),
		reads("GET /api/pulls", s.apiPulls),
		reads("GET /api/pulls/{id}", s.apiPull),
		reads("GET /api/pulls/{id}/trace", s.apiPullTrace),
	}
}

func (s *server) planRoutes() []route {
	return []route{
		reads("GET /plan", s.plan),
		reads("GET /plan/{kind}", s.planForm),
		writes("POST /plan/{kind}/keep", s.keepPlan),
		reads("GET /plan/kept/{id}", s.keptPlan),
		reads("GET /api/rigs/fills", s.apiRigFills),
		writes("POST /plan/kept/{id}/remove", s.removePlan),
		writes("POST /plan/kept/{id}/back", s.bringPlanBack),
	}
}

func (s *server) multiplierRoutes() []route {
	return []route{
		reads("GET /multipliers", s.multipliers),
		reads("GET /multipliers/next", s.next),
		reads("GET /multipliers/figures/{kind}", s.figureFile),
		writes("POST /multipliers/keep", s.keepSet),
		writes("POST /multipliers/bring", s.bringSet).withFiles(maxPullTable),
		writes("POST /multipliers/use", s.useSet),
		writes("POST /multipliers/assume", s.assumeSet),
		reads("GET /api/multipliers", s.apiSet),
		reads("GET /api/multipliers/classes.csv", s.apiClasses),
		reads("GET /api/multipliers/pulls.csv", s.apiSetPulls),
		reads("GET /api/multipliers/speed", s.apiSpeedChart),
		reads("GET /api/multipliers/residuals", s.apiResiduals),
		reads("GET /api/multipliers/classes", s.apiClassChart),
	}
}

// router sends each request to its route, once the route's conditions are met.
func (s *server) router() http.Handler {
	mux := http.NewServeMux()
	table := s.routes()
	s.closed = closedOf(table)
	for _, rt := range table {
		mux.HandleFunc(rt.pattern, func(w http.ResponseWriter, r *http.Request) { s.answer(w, r, s.run(rt, w, r)) })
	}
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) { s.answer(w, r, unrouted(mux, w, r)) })
	return mux
}

// run answers by a route.
func (s *server) run(rt route, w http.ResponseWriter, r *http.Request) error {
	r, err := admit(rt, r)
	if err != nil {
		return err
	}
	r.Body = http.MaxBytesReader(w, r.Body, rt.most)
	if _, err := url.ParseQuery(r.URL.RawQuery); err != nil {
		return refuse(http.StatusBadRequest, text("refused.query"))
	}
	if rt.effect != showing {
		defer func() {
			if r.MultipartForm != nil {
				_ = r.MultipartForm.RemoveAll()
			}
		}()
		read := s.form
		if rt.file {
			read = s.fileForm
		}
		if r, err = read(rt, w, r); err != nil {
			return err
		}
	}
	return s.answered(rt, w, r)
}

// answered answers by a route. A fault of the program in it is told as a page,
// and the program goes on: it records, whatever a page does.
func (s *server) answered(rt route, w http.ResponseWriter, r *http.Request) (err error) {
	defer func() {
		fault := recover()
		if fault == nil {
			return
		}
		if fault == http.ErrAbortHandler {
			panic(fault)
		}
		s.Log.Error("page panicked", "path", r.URL.Path, "fault", fault, "stack", string(debug.Stack()))
		err = refuse(http.StatusInternalServerError, text("refused.fault"))
	}()
	return rt.answer(w, r)
}

// unrouted says what is wrong with a request that no route is for: its
// address, or only its method.
func unrouted(mux *http.ServeMux, w http.ResponseWriter, r *http.Request) error {
	for _, m := range []string{http.MethodGet, http.MethodPost} {
		other := r.Clone(r.Context())
		other.Method = m
		if _, pattern := mux.Handler(other); pattern != "/" {
			w.Header().Add("Allow", m)
		}
	}
	if w.Header().Get("Allow") != "" {
		return refuse(http.StatusMethodNotAllowed, text("refused.method", r.Method))
	}
	return notHere()
}

package server

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"tallybook/geo/position"
	"tallybook/records"
	"tallybook/records/scout"
	"tallybook/server/say"
)

// mostLabel is how long the name of a forecast may be, characters.
const mostLabel = 120

// keptQuestion is what a forecast is kept with of what was asked, in base
// units: the address of the scouting page, written so that it can be read in
// years.
type keptQuestion struct {
	NeedLps float64      `json:"need_lps"`
	HoleMM  float64      `json:"hole_mm"`
	PipeMM  float64      `json:"pipe_mm"`
	MostM   float64      `json:"most_m,omitempty"`
	StopM   float64      `json:"stop_m,omitempty"`
	TankL   float64      `json:"tank_l,omitempty"`
	People  int          `json:"people"`
	Use     string       `json:"use,omitempty"`
	Near    []keptHazard `json:"near,omitempty"`
	Access  string       `json:"access,omitempty"`
	Marked  bool         `json:"marked_unreliable_taken_in,omitempty"`
	Picks   string       `json:"picks,omitempty"`
}

type keptHazard struct {
	Kind       string  `json:"kind"`
	DistanceM  float64 `json:"distance_m"`
	BearingDeg float64 `json:"bearing_deg"`
}

// question writes down what was asked.
func (a *scoutAsk) question() (json.RawMessage, error) {
	q := keptQuestion{NeedLps: a.needLps, HoleMM: a.holeMM, PipeMM: a.pipeMM, MostM: a.mostM, StopM: a.stopM, TankL: a.tankL, People: a.people, Use: a.use, Access: a.access, Marked: a.trust.Marked, Picks: a.trust.Picks}
	for _, h := range a.hazards {
		q.Near = append(q.Near, keptHazard{h.Kind, h.DistM, h.BearingDeg})
	}
	return json.Marshal(q)
}

// keptAsk is the question of a forecast; one that was kept elsewhere, with
// another question, asks what the page starts with.
func keptAsk(f *records.Forecast) (a *scoutAsk, known bool) {
	a, err := parseScoutAsk(url.Values{"at": {latLon(position.LonLat{Lon: f.Lon, Lat: f.Lat})}}, say.US)
	if err != nil { // its place is on the earth: the store takes no other
		a = &scoutAsk{at: position.LonLat{Lon: f.Lon, Lat: f.Lat}}
	}
	var q keptQuestion
	if json.Unmarshal(f.Question, &q) != nil || q.NeedLps <= 0 {
		return a, false
	}
	a.needLps, a.mostM, a.stopM, a.tankL, a.people, a.use = q.NeedLps, q.MostM, q.StopM, q.TankL, q.People, q.Use
	if q.HoleMM > 0 && q.PipeMM > 0 {
		a.holeMM, a.pipeMM = q.HoleMM, q.PipeMM
	}
	a.access = q.Access
	a.trust = records.Trust{Marked: q.Marked, Picks: q.Picks}
	for _, h := range q.Near {
		a.hazards = append(a.hazards, scout.Paced{Kind: h.Kind, DistM: h.DistanceM, BearingDeg: h.BearingDeg})
	}
	return a, true
}

// keepScouting answers the form of the scouting page that keeps what it says.
func (s *Server) keepScouting(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	u := unitsOf(r)
	a, err := parseScoutAsk(r.PostForm, u)
	if err != nil {
		return err
	}
	label := strings.TrimSpace(r.PostForm.Get("label"))
	back := a.href("/scout", u, nil)
	if fault := labelFault(label); fault != "" {
		p, err := s.scoutPageOf(r, a)
		if err != nil {
			return err
		}
		p.Here, p.Keep.Label, p.Keep.Fault = back, label, fault
		return s.showAs(w, "scout", p, http.StatusUnprocessableEntity)
	}
	question, err := a.question()
	if err != nil {
		return err
	}
	f, err := s.desk.KeepScouting(r.Context(), s.actor(r), a.ask(), label, question)
	if err != nil {
		return err
	}
	what := said{Text: "Kept as a forecast" + orElse(quoted(label), " of this place") + ". It is held against what is drilled here."}
	what.Undo = forecastPath(f.ID) + "/withdraw?revision=0&back=" + queryEscape(back)
	return s.done(w, r, back, what)
}

// labelFault says what is wrong with the name of a forecast, and how to mend
// it.
func labelFault(label string) string {
	if n := len([]rune(label)); n > mostLabel {
		return "The name has " + strconv.Itoa(n) + " characters; give it " + strconv.Itoa(mostLabel) + " at most."
	}
	for _, f := range (&records.Forecast{Label: label}).Validate() {
		if f.Field == "label" && f.Severity == records.Refusal {
			return "The name " + f.Message + "; " + f.Mend + "."
		}
	}
	return ""
}

func quoted(label string) string {
	if label == "" {
		return ""
	}
	return " “" + label + "”"
}

// forecastPath is the address of a kept forecast.
func forecastPath(id int64) string { return "/forecast/" + strconv.FormatInt(id, 10) }

package records

import (
	"encoding/json"
	"fmt"
	"strconv"
	"time"

	"github.com/go-json-experiment/json/jsontext"
)

// Forecast is what was expected of a place before anybody drilled there, kept
// with its whole distributions, to be held against what was found. Nothing of
// it ever changes; what was decided of it afterwards stands beside it.
type Forecast struct {
	ID  int64
	UID string // the public name (a UUID)

	Lon, Lat float64 // degrees, WGS 84
	Label    string
	JobUID   string // the job it was made for; "" for none

	// DataCommit is the state of the records that it was made from.
	DataCommit int64
	// Question is what was asked: need, use, sizes. A JSON document.
	Question json.RawMessage
	// Expected is what was answered, a quantity each.
	Expected []ForecastQuantity

	KeptAt time.Time // set when it is kept
	KeptBy string

	// Decision is the latest; its zero value is the forecast as kept.
	Decision ForecastDecision
}

// CostQuantity is the name of the expected cost among a forecast's
// quantities. Its unit is the currency.
const CostQuantity = "cost"

// ForecastQuantity is the answer for one quantity.
type ForecastQuantity struct {
	Name string `json:"name"` // depth_to_bedrock, yield, total_depth, cost…
	Unit string `json:"unit"` // of the distributions: m, L/s, USD
	// Distribution is what was expected, and Area what the area alone would
	// have said, to be compared; each as the estimates write it down.
	Distribution json.RawMessage `json:"distribution"`
	Area         json.RawMessage `json:"area,omitempty"`
	// Verdict is what the neighbours were said to be worth.
	Verdict string         `json:"verdict,omitempty"`
	Basis   *ForecastBasis `json:"basis,omitempty"`
}

// ForecastBasis is what an expected quantity stood on.
type ForecastBasis struct {
	Wells       int     `json:"wells"`
	Voters      int     `json:"voters"`
	AreaWells   int     `json:"area_wells"`
	AreaRadiusM float64 `json:"area_radius_m"`
	AreaShare   float64 `json:"area_share"`
	Bounds      int     `json:"bounds"`
	NearestM    float64 `json:"nearest_m"`
	FirstYear   float64 `json:"first_year,omitempty"` // 0: none is dated
	LastYear    float64 `json:"last_year,omitempty"`
	// Skill is how the estimate did at the test wells nearby, with its
	// standard error; nil where nothing was tested.
	Skill   *float64 `json:"skill,omitempty"`
	SkillSE *float64 `json:"skill_se,omitempty"`
	Tests   int      `json:"tests,omitempty"`
}

// ForecastDecision is what somebody decided of a kept forecast: the whole
// state from then on.
type ForecastDecision struct {
	Revision int64 // from 1; 0: nothing was decided
	At       time.Time
	By       string
	Why      string

	// WellUID is the well that shows the outcome, "" for none, and How it came
	// to be linked.
	WellUID   string
	How       string // by_hand, proposed
	Withdrawn bool   // it counts in no score
	// Refused are the wells of which somebody said that they are not the
	// outcome: they are not proposed again.
	Refused []string
}

// The ways in which a well comes to be linked to a forecast.
const (
	LinkedByHand = "by_hand"
	LinkProposed = "proposed" // by the program, and a person agreed
)

// forecastDoc is what is written down of a forecast beside its columns.
type forecastDoc struct {
	Question json.RawMessage    `json:"question,omitempty"`
	Expected []ForecastQuantity `json:"expected"`
}

// Document writes down what was asked and answered.
func (f *Forecast) Document() ([]byte, error) {
	doc, err := json.Marshal(forecastDoc{f.Question, f.Expected})
	if err != nil {
		return nil, WrapError(Invalid, err, "the forecast cannot be written down")
	}
	return doc, nil
}

// ParseDocument reads what Document wrote.
func (f *Forecast) ParseDocument(doc []byte) error {
	var d forecastDoc
	if err := json.Unmarshal(doc, &d); err != nil {
		return WrapError(Invalid, err, "the forecast cannot be read")
	}
	f.Question, f.Expected = d.Question, d.Expected
	return nil
}

// Validate tells every fault of a forecast that is to be kept. Whether its
// distributions are sound is not looked at here.
func (f *Forecast) Validate() []Fault {
	v := validator{limits: DefaultLimits()}
	v.lonLat(f.Lon, f.Lat)
	v.text("label", &f.Label)
	if len(f.Question) > 0 && !jsontext.Value(f.Question).IsValid() {
		v.refuse("question", "is not JSON", "give the question as a JSON document")
	}
	if len(f.Expected) == 0 {
		v.refuse("expected", "holds nothing", "keep a forecast that expects something")
	}
	seen := map[string]bool{}
	for i, q := range f.Expected {
		v.row("expected", i)
		switch {
		case q.Name == "":
			v.refuse("name", "is missing", "name the quantity")
		case seen[q.Name]:
			v.refuse("name", strconv.Quote(clip(q.Name, 40))+" stands there twice", "give each quantity once")
		}
		seen[q.Name] = true
		if q.Unit == "" {
			v.refuse("unit", "is missing", "name the unit of the distribution")
		}
		for _, part := range []struct {
			name     string
			text     json.RawMessage
			optional bool
		}{{"distribution", q.Distribution, false}, {"area", q.Area, true}} {
			if len(part.text) == 0 && part.optional {
				continue
			}
			if !jsontext.Value(part.text).IsValid() {
				v.refuse(part.name, fmt.Sprintf("is not JSON (%d bytes)", len(part.text)), "give the whole distribution as it is written down")
			}
		}
	}
	v.top()
	return v.faults
}

// Quantity finds what was expected of a quantity.
func (f *Forecast) Quantity(name string) (*ForecastQuantity, bool) {
	for i := range f.Expected {
		if f.Expected[i].Name == name {
			return &f.Expected[i], true
		}
	}
	return nil, false
}

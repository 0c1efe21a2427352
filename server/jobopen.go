package server

import (
	"encoding/json"
	"net/http"
	"net/url"
	"reflect"

	"tallybook/geo/position"
	"tallybook/geo/predict"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/server/say"
)

// startingAsk is the question that the scouting page begins with at a place.
func startingAsk(at position.LonLat) *scoutAsk {
	a, err := parseScoutAsk(url.Values{"at": {latLon(at)}}, say.US)
	if err != nil { // a place on the earth is always read
		return &scoutAsk{at: at}
	}
	return a
}

// StartingQuestion is the question that the scouting page begins with at a
// place, and how a forecast is kept with it.
func StartingQuestion(at position.LonLat) (desk.ScoutAsk, json.RawMessage, error) {
	a := startingAsk(at)
	question, err := a.question()
	return a.ask(), question, err
}

// jobNew answers GET /job/new: an empty job; with at=, the job of a place that
// was scouted; with forecast=, of a forecast that was kept.
func (s *Server) jobNew(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	today := s.desk.Validation().Today
	j := &records.Job{Stage: records.JobCalled, Steps: []records.JobStep{{Stage: records.JobCalled, Done: today}}}
	p := &jobFormPage{}
	rates, err := s.desk.Rates(r.Context(), s.actor(r))
	if err != nil {
		return err
	}
	if j.Quote.Currency = "USD"; rates.Value.Currency != "" {
		j.Quote.Currency = rates.Value.Currency
	}
	switch {
	case q.Get("forecast") != "":
		err = s.openFromForecast(r, q.Get("forecast"), j, p)
	case q.Get("at") != "":
		err = s.openFromScouting(r, q, j, p)
	}
	if err != nil {
		return err
	}
	if j.Located {
		j.MoveTo(records.JobScouted, today)
		j.Method = "map"
	}
	return s.jobShow(w, r, p, &jobForm{job: j}, http.StatusOK)
}

// openFromScouting fills a job in from what the scouting of its place says.
func (s *Server) openFromScouting(r *http.Request, q url.Values, j *records.Job, p *jobFormPage) error {
	a, err := parseScoutAsk(q, unitsOf(r))
	if err != nil {
		return err
	}
	j.Located, j.Lon, j.Lat = true, a.at.Lon, a.at.Lat
	p.Back = a.href("/scout", unitsOf(r), nil)
	if err := s.forecastJustKept(r, a, j); err != nil {
		return err
	}
	sc, err := s.desk.Scouting(r.Context(), s.actor(r), a.ask())
	if records.CodeOf(err) == records.NotFound {
		p.QuoteCare = append(p.QuoteCare, "No sum is filled in: "+records.MessageOf(err)+".")
		return nil
	}
	if err != nil {
		return err
	}
	switch {
	case records.Refuses(sc.Rates.Validate()) || !sc.Rates.Charges():
		p.QuoteCare = append(p.QuoteCare, "No sum is filled in, since there is no rate table that can be used.")
		p.Rates = "/office/rates?back=" + queryEscape(r.URL.RequestURI())
		return nil
	case sc.Hole == nil || sc.Hole.Cost.Empty():
		p.QuoteCare = append(p.QuoteCare, "No sum is filled in: the hole that was asked for cannot be replayed in the records near here.")
		return nil
	}
	p.quote(&j.Quote, &sc.Hole.Cost, float64(sc.Hole.Ceiling), sc.Rates.Currency)
	p.QuoteFrom = "From the scouting at your rates: the middle outcome, and what 8 in 10 lie between, in round sums. An estimate: what you quote is yours to say."
	for _, lack := range sc.Hole.Missing {
		p.QuoteCare = append(p.QuoteCare, "Not in the sums: "+lack+".")
	}
	return nil
}

// openFromForecast fills a job in from a kept forecast.
func (s *Server) openFromForecast(r *http.Request, uid string, j *records.Job, p *jobFormPage) error {
	id, err := s.desk.ForecastIDByUID(r.Context(), s.actor(r), uid)
	if err != nil {
		return err
	}
	f, err := s.desk.Forecast(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	p.Back = forecastPath(f.ID)
	j.Located, j.Lon, j.Lat, j.Label, j.ForecastUID = true, f.Lon, f.Lat, f.Label, f.UID
	cost, ok := f.Quantity(records.CostQuantity)
	if !ok {
		p.QuoteCare = append(p.QuoteCare, "No sum is filled in: the forecast expects no cost. Scout the place to have one at your rates.")
		return nil
	}
	d, _, err := desk.ExpectedOf(cost)
	if err != nil {
		return err
	}
	cents := d.Scaled(100)
	p.quote(&j.Quote, &cents, 0, cost.Unit)
	p.QuoteFrom = "From the forecast, kept " + dayOf(f.KeptAt) + ": the middle outcome, and what 8 in 10 lie between, in round sums. An estimate: what you quote is yours to say."
	return nil
}

// forecastJustKept names the latest forecast that was kept of this very place
// and question.
func (s *Server) forecastJustKept(r *http.Request, a *scoutAsk, j *records.Job) error {
	all, err := s.desk.Forecasts(r.Context(), s.actor(r))
	if err != nil {
		return err
	}
	for _, f := range all {
		if f.Decision.Withdrawn || latLon(position.LonLat{Lon: f.Lon, Lat: f.Lat}) != latLon(a.at) {
			continue
		}
		whole, err := s.desk.Forecast(r.Context(), s.actor(r), f.ID)
		if err != nil {
			return err
		}
		if kept, known := keptAsk(whole); known && sameQuestion(kept, a) {
			j.ForecastUID, j.Label = f.UID, f.Label
			return nil
		}
	}
	return nil
}

// sameQuestion says whether two scoutings ask the same of a place; the sum
// that a reader asked about beside it is no part of it.
func sameQuestion(a, b *scoutAsk) bool {
	x, y := *a, *b
	x.above, y.above = 0, 0
	return reflect.DeepEqual(x.query(say.SI), y.query(say.SI))
}

// quote fills in a quote from an expected cost, in cents, and says what of it
// has no upper end.
func (p *jobFormPage) quote(q *records.Quote, cost *predict.Distribution, ceiling float64, currency string) {
	made, openMiddle, openHigh := desk.QuoteOf(cost, ceiling, currency)
	*q = made
	if openMiddle {
		p.QuoteCare = append(p.QuoteCare, "No middle sum is filled in: half of the outcomes have no upper end on record.")
	}
	switch {
	case openHigh && q.HighCents > 0:
		p.QuoteCare = append(p.QuoteCare, "More than 1 in 10 outcomes have no upper end on record; the highest sum is the most that the plan can cost.")
	case openHigh:
		p.QuoteCare = append(p.QuoteCare, "More than 1 in 10 outcomes have no upper end on record, so no highest sum is filled in.")
	}
}

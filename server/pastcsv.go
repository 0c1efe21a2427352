package server

import (
	"bytes"
	"encoding/csv"
	"net/http"
	"strconv"
	"strings"
	"time"

	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

// pastTableWait is how long a table waits for a score that is being worked.
const pastTableWait = 60 * time.Second

// pastCSV answers /forecasts/past.csv: what a chart is drawn from, in base
// units, or each forecast by itself.
func (s *Server) pastCSV(w http.ResponseWriter, r *http.Request) error {
	f, err := pastFieldOf(r.URL.Query())
	if err != nil {
		return err
	}
	of := orElse(r.URL.Query().Get("of"), "wells")
	table, ok := pastTables()[of]
	if !ok {
		return records.Errorf(records.Invalid, "of=%s is no table of the past; use wells, years, ranks or chances", clipText(of, 30))
	}
	st, err := s.desk.PastSoon(r.Context(), s.actor(r), f, pastTableWait)
	switch {
	case err != nil:
		return err
	case st.Err != nil:
		return st.Err
	case st.Sheet == nil:
		return records.Errorf(records.Busy, "the past of %s is still being worked; ask again in a minute", desk.FieldWords(f))
	}
	rows, err := table(s, r, st.Sheet, f)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	c := csv.NewWriter(&b)
	if err := c.WriteAll(rows); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8; header=present")
	h.Set("Cache-Control", "no-cache")
	h.Set("Content-Disposition", `attachment; filename="past-`+f.String()+`-`+of+`.csv"`)
	_, err = w.Write(b.Bytes())
	return ignoreGone(err)
}

type pastTable func(s *Server, r *http.Request, sheet *desk.PastSheet, f snapshot.Field) ([][]string, error)

func pastTables() map[string]pastTable {
	return map[string]pastTable{"wells": (*Server).pastWells, "years": pastYears, "ranks": pastRanks, "chances": pastChances}
}

// numberText writes a number for a table; nothing for one that is none.
func numberText(v float64) string {
	if !finite(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', 8, 64)
}

// unitSuffix ends a column's name with the base unit of a field.
func unitSuffix(f snapshot.Field) string {
	if f == snapshot.Yield {
		return "_lps"
	}
	return "_m"
}

// plainText keeps a spreadsheet from taking what a record says for a formula.
func textCell(t string) string {
	if t != "" && strings.ContainsRune("=+-@\t\r", rune(t[0])) {
		return "'" + t
	}
	return t
}

func (s *Server) pastWells(r *http.Request, sheet *desk.PastSheet, f snapshot.Field) ([][]string, error) {
	ids := make([]int64, len(sheet.Forecasts))
	for i := range ids {
		ids[i] = sheet.Model.Selection.Rows[sheet.Forecasts[i].Row].ID()
	}
	names, err := s.desk.KnownNumbers(r.Context(), s.actor(r), ids)
	if err != nil {
		return nil, err
	}
	unit := unitSuffix(f)
	head := []string{"well", "number", "year", "wells_before", "found" + unit, "found_high" + unit, "qualifier", "held", "rank_low", "rank_high", "crps" + unit, "area_crps" + unit, "range_width" + unit, "nearest_m"}
	for i := range sheet.Chances {
		head = append(head, "chance_of_"+trimFloat(sheet.Chances[i].Threshold, 4)+unit)
	}
	rows := [][]string{head}
	for i := range sheet.Forecasts {
		p := &sheet.Forecasts[i]
		y := sheet.Model.Selection.Value(p.Row)
		high := ""
		if y.Qualifier == records.Between {
			high = numberText(y.High)
		}
		row := []string{
			strconv.FormatInt(ids[i], 10), textCell(names[i]), strconv.Itoa(p.Year), strconv.Itoa(p.Earlier), numberText(y.Value), high, y.Qualifier.String(),
			p.Held.String(), numberText(p.RankLow), numberText(p.RankHigh), numberText(p.CRPS), numberText(p.AreaCRPS), numberText(p.Width), numberText(p.NearestM),
		}
		for _, c := range p.AtLeast {
			row = append(row, numberText(c))
		}
		rows = append(rows, row)
	}
	return rows, nil
}

func pastYears(_ *Server, _ *http.Request, sheet *desk.PastSheet, f snapshot.Field) ([][]string, error) {
	unit := unitSuffix(f)
	rows := [][]string{{"first_year", "last_year", "wells", "inside", "outside", "cannot_tell", "coverage", "coverage_se", "crps" + unit, "area_crps" + unit, "skill", "skill_se", "middle_width" + unit}}
	for i := range sheet.Spans {
		p := &sheet.Spans[i]
		rows = append(rows, []string{
			strconv.Itoa(p.FirstYear), strconv.Itoa(p.LastYear), strconv.Itoa(p.Tested), strconv.Itoa(p.Inside), strconv.Itoa(p.Outside), strconv.Itoa(p.CannotTell),
			numberText(p.Coverage.Share), numberText(p.Coverage.SE()), numberText(p.CRPS), numberText(p.AreaCRPS), numberText(p.Skill), numberText(p.SkillSE), numberText(p.Width),
		})
	}
	return rows, nil
}

func pastRanks(_ *Server, _ *http.Request, sheet *desk.PastSheet, _ snapshot.Field) ([][]string, error) {
	low, high := rankBand(len(sheet.Forecasts), len(sheet.Ranks))
	rows := [][]string{{"rank_from", "rank_to", "wells", "share", "band_low", "band_high"}}
	bins := float64(len(sheet.Ranks))
	for b, n := range sheet.Ranks {
		rows = append(rows, []string{numberText(float64(b) / bins), numberText(float64(b+1) / bins), numberText(n), numberText(n / float64(len(sheet.Forecasts))), numberText(low / 100), numberText(high / 100)})
	}
	return rows, nil
}

func pastChances(_ *Server, _ *http.Request, sheet *desk.PastSheet, f snapshot.Field) ([][]string, error) {
	rows := [][]string{{"at_least" + unitSuffix(f), "chance_from", "chance_to", "wells", "mean_chance", "share_that_came", "bar_low", "bar_high"}}
	for i := range sheet.Chances {
		c := &sheet.Chances[i]
		for _, b := range c.Bins {
			rows = append(rows, []string{numberText(c.Threshold), numberText(b.From), numberText(b.To), strconv.Itoa(b.Tested), numberText(b.Forecast), numberText(b.Observed), numberText(b.Low), numberText(b.High)})
		}
	}
	return rows, nil
}

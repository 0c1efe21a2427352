package server

import (
	"encoding/csv"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/desk"
)

// sentReportCSV and intakeReportCSV give a row report as a table.
func (s *Server) sentReportCSV(w http.ResponseWriter, r *http.Request) error {
	report, err := s.desk.SentReport(r.Context(), s.actor(r), mux.Vars(r)["token"])
	if err != nil {
		return err
	}
	return reportCSV(w, report)
}

func (s *Server) intakeReportCSV(w http.ResponseWriter, r *http.Request) error {
	id, err := strconv.ParseInt(mux.Vars(r)["id"], 10, 64)
	if err != nil {
		return records.Errorf(records.NotFound, "there is no intake %s", mux.Vars(r)["id"])
	}
	report, err := s.desk.IntakeReport(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	return reportCSV(w, report)
}

func reportCSV(w http.ResponseWriter, report *desk.Report) error {
	attachment(w, "row report.csv", "text/csv; charset=utf-8")
	c := csv.NewWriter(w)
	c.UseCRLF = true
	if err := c.Write([]string{"row", "line", "outcome", "field", "what", "mend", "row as it was"}); err != nil {
		return ignoreGone(err)
	}
	err := report.Each(desk.ReportFilter{}, func(x *desk.ReportRow) error {
		outcome := "accepted"
		if x.Refused {
			outcome = "refused"
		}
		for _, f := range x.Faults {
			if err := c.Write([]string{strconv.FormatInt(x.Row, 10), strconv.FormatInt(x.Line, 10), outcome, f.Field, f.Message, f.Mend, x.Raw}); err != nil {
				return err
			}
		}
		return nil
	})
	c.Flush()
	return ignoreGone(err)
}

// attachment has an answer kept as a file.
func attachment(w http.ResponseWriter, name, kind string) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", "attachment; filename*=UTF-8''"+strings.ReplaceAll(url.PathEscape(name), "'", "%27"))
	h.Set("Cache-Control", "no-store")
}

func (s *Server) sentRefused(w http.ResponseWriter, r *http.Request) error {
	report, err := s.desk.SentReport(r.Context(), s.actor(r), mux.Vars(r)["token"])
	if err != nil {
		return err
	}
	return refusedFile(w, report)
}

func (s *Server) intakeRefused(w http.ResponseWriter, r *http.Request) error {
	id, err := strconv.ParseInt(mux.Vars(r)["id"], 10, 64)
	if err != nil {
		return records.Errorf(records.NotFound, "there is no intake %s", mux.Vars(r)["id"])
	}
	report, err := s.desk.IntakeReport(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	return refusedFile(w, report)
}

// refusedFile gives the refused rows as a file like the one that was sent.
func refusedFile(w http.ResponseWriter, report *desk.Report) error {
	f, err := report.Refused()
	if err != nil {
		return err
	}
	attachment(w, f.Name, f.Kind)
	_, err = w.Write(f.Data)
	return ignoreGone(err)
}

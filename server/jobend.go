package server

import (
	"fmt"
	"net/http"
	"strings"

	"tallybook/records"
)

// jobEndSave answers /job/{id}/end: which well was drilled, by its number or
// its public name, and what the job came to. is=none says that no well is the
// job's any more.
func (s *Server) jobEndSave(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	id, err := jobID(r)
	if err != nil {
		return err
	}
	ctx, actor := r.Context(), s.actor(r)
	j, err := s.desk.Job(ctx, actor, id)
	if err != nil {
		return err
	}
	if j.Revision, err = jobRevision(r.PostForm.Get("revision")); err != nil {
		return err
	}
	was, before := j.Revision, *j
	typed := jobEnd{Number: strings.TrimSpace(r.PostForm.Get("number")), Actual: strings.TrimSpace(r.PostForm.Get("actual"))}
	switch uid := r.PostForm.Get("well"); {
	case r.PostForm.Get("is") == "none":
		j.WellUID = ""
	case uid != "":
		j.WellUID = uid
	case typed.Number != "":
		wells, err := s.desk.WellsNumbered(ctx, actor, typed.Number)
		if err != nil {
			return err
		}
		typed.number(wells, j)
	}
	if r.PostForm.Has("actual") {
		faults := jobFaults{}
		readSum(typed.Actual, j.Quote.Currency, &j.ActualCents, "actual", faults)
		typed.SumFault = faults["actual"]
	}
	if typed.Fault == "" && typed.SumFault == "" {
		faults, err := s.desk.SaveJob(ctx, actor, j, "")
		if err == nil {
			return s.done(w, r, jobPath(id), said{Text: endWords(&before, j) + caresOf(faults), Undo: jobRestoreHref(id, was, j.Revision)})
		}
		if !records.Refuses(faults) {
			return err
		}
		typed.SumFault = refusalWords(faults)
	}
	p, err := s.jobPageOf(r)
	if err != nil {
		return err
	}
	p.Here = jobPath(id)
	p.End.Open = true
	p.End.Number, p.End.Actual, p.End.Fault, p.End.SumFault = typed.Number, typed.Actual, typed.Fault, typed.SumFault
	if typed.Fault != "" {
		p.End.Several, p.End.Maybe = typed.Several, false
	}
	return s.showAs(w, "job", p, http.StatusUnprocessableEntity)
}

// number takes the well that bears the number typed, or says why there is
// none.
func (e *jobEnd) number(wells []*records.Well, j *records.Job) {
	switch len(wells) {
	case 1:
		j.WellUID = wells[0].UID
	case 0:
		e.Fault = "No well on record bears the number " + clipText(e.Number, 60) + ". Look it up with Find, above, or enter the well first."
	default:
		e.Fault = fmt.Sprintf("%d wells bear this number. Choose one:", len(wells))
		for _, x := range wells {
			e.Several = append(e.Several, jobWell{x.UID, wellLabel(x), wellPath(x.ID), placeGiven(x)})
		}
	}
}

// endWords says what was changed at the end of a job.
func endWords(before, now *records.Job) string {
	var parts []string
	switch {
	case before.WellUID == now.WellUID:
	case now.WellUID == "":
		parts = append(parts, "no well is the job's any more")
	default:
		parts = append(parts, "the well is linked")
	}
	if before.ActualCents != now.ActualCents {
		parts = append(parts, "what it came to is kept")
	}
	if len(parts) == 0 {
		return "Kept as it was."
	}
	return capital(strings.Join(parts, "; ")) + "."
}

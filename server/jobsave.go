package server

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"github.com/gorilla/mux"

	"tallybook/records"
	"tallybook/records/desk"
)

const (
	jobRefused = "Nothing was saved: see what is marked."
	jobLost    = "Nothing was saved: somebody changed the job while you typed. What you typed stands below. Open the job in another window to see theirs; save again to put yours in its place, and theirs is kept among the earlier states."
)

// jobEdit answers GET /job/{id}/edit.
func (s *Server) jobEdit(w http.ResponseWriter, r *http.Request) error {
	id, err := jobID(r)
	if err != nil {
		return err
	}
	j, err := s.desk.Job(r.Context(), s.actor(r), id)
	if err != nil {
		return err
	}
	return s.jobShow(w, r, &jobFormPage{}, &jobForm{job: j}, http.StatusOK)
}

func jobID(r *http.Request) (int64, error) {
	id, err := strconv.ParseInt(mux.Vars(r)["id"], 10, 64)
	if err != nil || id <= 0 {
		return 0, records.Errorf(records.NotFound, "there is no job %s", clipText(mux.Vars(r)["id"], 30))
	}
	return id, nil
}

// jobRevision reads the revision of a job that somebody saw.
func jobRevision(t string) (int64, error) {
	n, err := strconv.ParseInt(t, 10, 64)
	if err != nil || n <= 0 {
		return 0, records.Errorf(records.Invalid, "“%s” is no revision of a job; open the job again and do it from there", clipText(t, 20))
	}
	return n, nil
}

// jobSave answers the form, of a new job and of one that is changed.
func (s *Server) jobSave(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	ctx, actor := r.Context(), s.actor(r)
	j := &records.Job{}
	changing := mux.Vars(r)["id"] != ""
	if changing {
		id, err := jobID(r)
		if err != nil {
			return err
		}
		if j, err = s.desk.Job(ctx, actor, id); err != nil {
			return err
		}
		if j.Revision, err = jobRevision(r.PostForm.Get("revision")); err != nil {
			return err
		}
	}
	was := j.Revision
	f := &jobForm{typed: r.PostForm, job: j, faults: readJob(r.PostForm, j, s.desk.Permit(actor, desk.SeePrivate) == nil)}
	rest := f.faults.place(j.Validate(s.desk.Validation()), j)
	if len(f.faults) > 0 || len(rest) > 0 {
		return s.jobShow(w, r, &jobFormPage{Refused: jobRefused, Warnings: rest}, f, http.StatusUnprocessableEntity)
	}
	faults, err := s.desk.SaveJob(ctx, actor, j, r.PostForm.Get("why"))
	switch {
	case records.CodeOf(err) == records.Conflict:
		theirs, err := s.desk.Job(ctx, actor, j.ID)
		if err != nil {
			return err
		}
		j.Revision = theirs.Revision
		return s.jobShow(w, r, &jobFormPage{Refused: jobLost}, f, http.StatusConflict)
	case records.CodeOf(err) == records.NotFound && fieldOf(err) == "forecast_uid":
		f.faults["forecast"] = "This forecast is no longer on record: choose another, or none."
		return s.jobShow(w, r, &jobFormPage{Refused: jobRefused}, f, http.StatusUnprocessableEntity)
	case err != nil:
		return err
	}
	what := said{Text: "Opened: " + jobName(j) + "." + caresOf(faults), Undo: jobRemoveHref(j)}
	if changing {
		what = said{Text: "Changed: " + jobName(j) + "." + caresOf(faults), Undo: jobRestoreHref(j.ID, was, j.Revision)}
	}
	return s.done(w, r, jobPath(j.ID), what)
}

// fieldOf is the property that an error is about.
func fieldOf(err error) string {
	var e *records.Error
	if errors.As(err, &e) {
		return e.Field
	}
	return ""
}

// caresOf says what is doubtful of a job that was saved.
func caresOf(faults []records.Fault) string {
	t := ""
	for _, x := range faults {
		if x.Severity == records.Warning {
			t += " " + jobFaultWords(x) + "."
		}
	}
	return t
}

func jobRemoveHref(j *records.Job) string {
	return jobPath(j.ID) + "/remove?revision=" + strconv.FormatInt(j.Revision, 10)
}

func jobRestoreHref(id, revision, current int64) string {
	return fmt.Sprintf("%s/restore?revision=%d&current=%d", jobPath(id), revision, current)
}

// jobMove answers /job/{id}/move: the job comes to a stage.
func (s *Server) jobMove(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(w, r); err != nil {
		return err
	}
	id, err := jobID(r)
	if err != nil {
		return err
	}
	revision, err := jobRevision(r.PostForm.Get("revision"))
	if err != nil {
		return err
	}
	form := jobMoveForm{Stage: r.PostForm.Get("stage"), On: r.PostForm.Get("on"), Due: r.PostForm.Get("due")}
	m := form.read()
	if form.OnFault == "" && form.DueFault == "" {
		var j *records.Job
		var faults []records.Fault
		j, faults, err = s.desk.MoveJob(r.Context(), s.actor(r), id, revision, m)
		if err == nil {
			back := jobPath(id)
			if b := r.PostForm.Get("back"); localPath(b) {
				back = b
			}
			return s.done(w, r, back, said{Text: jobName(j) + ": " + stageSaid[j.Stage].reached + "." + caresOf(faults), Undo: jobRestoreHref(id, revision, j.Revision)})
		}
		if !records.Refuses(faults) {
			return err
		}
		form.OnFault = refusalWords(faults)
	}
	p, err := s.jobPageOf(r)
	if err != nil {
		return err
	}
	p.Here = jobPath(id)
	p.refuseMove(form)
	return s.showAs(w, "job", p, http.StatusUnprocessableEntity)
}

// refusalWords says what a job is refused for.
func refusalWords(faults []records.Fault) string {
	t := ""
	for _, x := range faults {
		if x.Severity == records.Refusal {
			t = joinSpace(t, jobFaultWords(x)+".")
		}
	}
	return t
}

// jobRemove takes a job out.
func (s *Server) jobRemove(w http.ResponseWriter, r *http.Request) error {
	id, err := jobID(r)
	if err != nil {
		return err
	}
	revision, err := jobRevision(r.URL.Query().Get("revision"))
	if err != nil {
		return err
	}
	if err := s.desk.RemoveJob(r.Context(), s.actor(r), id, revision, ""); err != nil {
		return err
	}
	return s.done(w, r, "/jobs", said{Text: "The job is taken out.", Undo: jobRestoreHref(id, revision, revision)})
}

// jobRestore makes an earlier state the present one, or brings back a job that
// was taken out.
func (s *Server) jobRestore(w http.ResponseWriter, r *http.Request) error {
	id, err := jobID(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	revision, err := jobRevision(q.Get("revision"))
	if err != nil {
		return err
	}
	current, err := jobRevision(q.Get("current"))
	if err != nil {
		return err
	}
	restored, err := s.desk.RestoreJob(r.Context(), s.actor(r), id, revision, current)
	if err != nil {
		return err
	}
	j, err := s.desk.Job(r.Context(), s.actor(r), restored)
	if err != nil {
		return err
	}
	what := said{Text: "Restored: " + jobName(j) + ", " + j.Stage + ".", Undo: jobRemoveHref(j)}
	if restored == id {
		what.Undo = jobRestoreHref(id, current, j.Revision)
	}
	return s.done(w, r, jobPath(restored), what)
}

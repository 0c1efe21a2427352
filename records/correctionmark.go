package records

import (
	"slices"
	"strings"
)

// checkMark says what is wrong with a rule that marks logs or takes marks off.
func (r *CorrectionRule) checkMark() error {
	if !slices.Contains(doubtWords, r.Field) && !(r.Kind == CorrectUnmark && r.Field == "*") {
		return Errorf(Invalid, "say what of the logs: %s", strings.Join(doubtWords, ", "))
	}
	if r.To = strings.TrimSpace(r.To); r.Kind == CorrectMark && r.To == "" {
		return Errorf(Invalid, "say why the logs are not to be relied on")
	}
	if _, err := r.markDate(); err != nil {
		return Errorf(Invalid, "the day of the mark: %v", err)
	}
	return nil
}

func (r *CorrectionRule) markDate() (Date, error) {
	if r.On == "" {
		return Date{}, nil
	}
	return ParseDate(r.On)
}

// applyMark marks a record, or takes its marks off. One that bears the same mark
// for the same reason stays as it is, so that marking twice changes nothing.
func (r *CorrectionRule) applyMark(w *Well) bool {
	if r.Kind == CorrectUnmark {
		return w.Unmark(r.Field)
	}
	for i := range w.Unreliable {
		if d := &w.Unreliable[i]; d.About == r.Field && d.Reason == r.To {
			return false
		}
	}
	on, err := r.markDate()
	if err != nil { // Check refuses it
		return false
	}
	w.Mark(Doubt{About: r.Field, Reason: r.To, By: r.By, Date: on})
	return true
}

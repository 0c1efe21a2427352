package lithology

import "tallybook/records"

// settleForm decides what the numbers of the steps are, or says why that
// cannot be told.
func (r *logReader) settleForm(steps []logStep) (LogForm, string) {
	known, trailing, leading, thick, tops, numbered := 0, 0, 0, 0, 0, 0
	rising, sum := true, records.Depth(0)
	var first, last records.Depth
	said, allSaid := true, true
	for i := range steps {
		s := &steps[i]
		if r.namesGround(r.log.Text[s.wordsStart:s.wordsEnd]) {
			known++
		}
		switch s.form {
		case stepTrailing:
			trailing++
		case stepLeading:
			leading++
		case stepThickness:
			thick++
		case stepTop:
			tops++
		case stepRest:
			continue
		default:
			return FormNone, "cannot be told apart into strata"
		}
		allSaid = allSaid && (s.said || i == 0 && s.form == stepLeading)
		said = said && s.said
		if numbered == 0 {
			first = s.bottom.Value
		} else if s.bottom.Value <= last {
			rising = false
		}
		last = s.bottom.Value
		sum += s.bottom.Value
		numbered++
	}
	switch {
	case numbered == 0:
		return FormNone, "has no depths"
	case 2*known < len(steps) || known == 0:
		return FormNone, "does not read as a log of the ground"
	case thick == numbered:
		return FormThickness, ""
	case tops == numbered && rising && (first == 0 || said):
		return FormTops, ""
	case allSaid && trailing > 0 && tops == 0 && leading <= 1 && r.folds(steps):
		return FormBottoms, ""
	case trailing+thick == numbered && trailing > 0 && thick > 0 && steps[0].form == stepTrailing && rising:
		return FormNone, "mixes depths and thicknesses"
	}
	return r.settleBare(steps, trailing == numbered, leading == numbered, trailing+tops == numbered, rising, said, first, last, sum, numbered)
}

// folds says whether steps that say what their numbers are go down: 'to 12' is
// a depth, '10 ft of' a thickness, and the first stratum's is both.
func (r *logReader) folds(steps []logStep) bool {
	above := records.Depth(0)
	for i := range steps {
		s := &steps[i]
		switch s.form {
		case stepRest:
			continue
		case stepThickness:
			above += s.bottom.Value
		default:
			if s.bottom.Value <= above {
				return false
			}
			above = s.bottom.Value
		}
	}
	return above > 0
}

// settleBare decides between bottoms, tops and thicknesses by what the numbers
// themselves allow and by the total depth, if the log says it.
func (r *logReader) settleBare(steps []logStep, trailing, leading, mixedTops, rising, said bool, first, last, sum records.Depth, n int) (LogForm, string) {
	total, knowTotal := r.total().Value, r.total().Known()
	same := func(d records.Depth) bool { return knowTotal && abs(d-total) <= depthSlack }
	switch {
	case trailing && said && rising && first > 0:
		return FormBottoms, ""
	case (trailing || leading) && rising && first == 0 && n > 1:
		return FormTops, "" // no stratum ends at the surface
	case (trailing || leading) && same(sum) && n > 1 && !same(last):
		return FormThickness, ""
	case (trailing || leading) && same(last) && rising && n > 1:
		return FormBottoms, ""
	case trailing && rising && first > 0 && n > 1 && (!knowTotal || last < total):
		r.log.Doubts |= LogBare
		return FormBottoms, ""
	case trailing && n == 1 && (said || same(last)):
		return FormBottoms, ""
	case mixedTops && rising && first > 0 && steps[len(steps)-1].form == stepTop && steps[len(steps)-1].said:
		return FormBottoms, ""
	case !rising:
		return FormNone, "its depths do not go down, and it does not say that they are thicknesses"
	}
	return FormNone, "its numbers could be thicknesses, bottoms or tops"
}

// build makes the intervals of the steps.
func (r *logReader) build(steps []logStep, form LogForm) {
	above := records.Of(records.Depth(0))
	for i := range steps {
		s := &steps[i]
		in := LogInterval{Top: above, Bottom: s.bottom, Start: s.start, End: s.end, WordsStart: s.wordsStart, WordsEnd: s.wordsEnd}
		switch {
		case form == FormTops:
			in.Top, in.Bottom = s.bottom, r.total()
			if i+1 < len(steps) && steps[i+1].depth {
				in.Bottom = steps[i+1].bottom
			}
		case s.form == stepRest:
			in.Bottom = r.total()
		case form == FormThickness || s.form == stepThickness:
			in.Bottom = records.Of(above.Value + s.bottom.Value)
			if above.Value == 0 {
				in.Bottom = s.bottom
			}
		case s.form == stepTop: // the last: 'gneiss below 40'
			in.Top, in.Bottom = s.bottom, r.total()
		}
		if in.Bottom.Known() && in.Bottom.Value <= in.Top.Value {
			r.log.Doubts |= LogBackwards
			r.unread(s.start, s.end, "runs up instead of down")
			continue
		}
		in.AlsoStart, in.AlsoEnd = in.WordsEnd, in.WordsEnd
		for _, t := range r.tails {
			if t.step == i {
				a, b := r.trimWords(t.start, t.end)
				if a < b && a >= in.End {
					in.AlsoStart, in.AlsoEnd, in.End = a, b, b
				}
			}
		}
		r.log.Intervals = append(r.log.Intervals, in)
		if in.Bottom.Known() {
			above = in.Bottom
		}
	}
}

package records

import "slices"

// AsWorks makes ready the merge of a record with the report of later works in
// the same hole: the first comes back with the works in its list, and with the
// depth and yield as the works left them; the report without what now stands
// in them, so that Combine merges the rest. What the hole was when first
// drilled stays in the first row of works. Neither record is changed.
func AsWorks(first, report *Well, kind string) (*Well, *Well) {
	a, b := *first, *report
	a.Works = slices.Clone(a.Works)
	if len(a.Works) == 0 {
		a.Works = []Work{{
			Kind: "drill", Firm: a.Crew.Firm, PermitNumber: a.PermitNumber, Started: a.Started, Completed: a.Completed,
			TotalDepth: a.TotalDepth, Yield: a.Yield,
		}}
	}
	work := Work{
		Kind: kind, Firm: b.Crew.Firm, PermitNumber: b.PermitNumber, Started: b.Started, Completed: b.Completed,
		TotalDepth: b.TotalDepth, Yield: b.Yield, Report: b.Number,
	}
	if kind == "decommission" {
		a.Status = "decommissioned"
	} else {
		if b.TotalDepth.Known() {
			a.TotalDepth = b.TotalDepth
		}
		if b.Yield.Known() {
			a.Yield, a.YieldMethod = b.Yield, b.YieldMethod
		}
		if b.CompletedDepth.Known() {
			a.CompletedDepth = b.CompletedDepth
		}
	}
	if b.StaticLevel.Known() {
		a.StaticLevels = slices.Clone(a.StaticLevels)
		if a.StaticLevel.Known() && len(a.StaticLevels) == 0 {
			a.StaticLevels = append(a.StaticLevels, Level{Date: a.Completed, Depth: a.StaticLevel})
		}
		listed := func(l Level) bool { return l.Date == b.Completed && l.Depth == b.StaticLevel }
		if !slices.ContainsFunc(a.StaticLevels, listed) && !slices.ContainsFunc(b.StaticLevels, listed) {
			a.StaticLevels = append(a.StaticLevels, Level{Date: b.Completed, Depth: b.StaticLevel})
		}
		a.StaticLevel = b.StaticLevel
	}
	if b.Crew.Driller != "" && b.Crew.Driller != a.Crew.Driller {
		work.Note = "driller: " + b.Crew.Driller
		if b.Crew.Licence != "" {
			work.Note += ", licence " + b.Crew.Licence
		}
	}
	if len(b.Works) > 0 { // the report has a list of its own: it stands as it is
		a.Works = append(a.Works, b.Works...)
	} else {
		a.Works = append(a.Works, work)
	}
	b.Number, b.PermitNumber, b.Status, b.YieldMethod = "", "", "", ""
	b.Started, b.Completed = Date{}, Date{}
	b.TotalDepth, b.CompletedDepth, b.StaticLevel, b.Yield = Amount[Depth]{}, Amount[Depth]{}, Amount[Depth]{}, Amount[Flow]{}
	b.Works = nil
	if len(work.Note) > 0 || b.Crew.Driller == a.Crew.Driller {
		b.Crew.Driller, b.Crew.Licence = "", ""
	}
	if a.Crew.Firm != "" {
		b.Crew.Firm = ""
	}
	return &a, &b
}

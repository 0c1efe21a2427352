package server

import (
	"slices"
	"strings"
	"sync"

	"tallybook/records"
)

// editProp is one property of a record as the form has it.
type editProp struct {
	Path     string // without a unit: total_depth, crew.driller, strata[].top
	List     string // the list whose rows have it; "" for one of the record
	Name     string // the last part of the path
	Type     string // as in records.Property
	Words    []string
	Quantity *records.AmountField
	Private  bool
}

// editProps are the properties of the profile that a form holds, in its
// order. What is added to the profile is added here by itself.
var editProps = sync.OnceValue(func() []editProp {
	var out []editProp
	for _, p := range records.Profile() {
		if p.Beside != "" || p.Type == "group" || p.Type == "list" || p.Name == "uid" ||
			strings.HasPrefix(p.Name, "provenance.") || strings.HasPrefix(p.Name, "attachments[") {
			continue
		}
		e := editProp{Path: p.Name, Type: p.Type, Words: p.Words, Quantity: p.Quantity, Private: p.Private}
		if e.Quantity != nil {
			e.Path = e.Quantity.Base
		}
		e.List, e.Name, _ = strings.Cut(e.Path, "[].")
		if e.Name == "" {
			e.List, e.Name = "", e.Path[strings.LastIndexByte(e.Path, '.')+1:]
		}
		out = append(out, e)
	}
	return out
})

// editLists are the lists of the profile that a form holds.
func editLists() []string {
	var out []string
	for _, p := range editProps() {
		if p.List != "" && !slices.Contains(out, p.List) {
			out = append(out, p.List)
		}
	}
	return out
}

// editPlan is a part of the form: which properties it shows. A name that ends
// in a dot stands for a whole group.
type editPlan struct {
	id, title, lead string
	fields, lists   []string
}

var editPlans = []editPlan{
	{"record", "The record", "", []string{"number", "permit_number", "status", "purpose", "started", "completed", "counts_for_yield"}, nil},
	{"place", "Place", "", []string{"coordinates_given", "datum", "located_by", "accuracy", "ground_elevation", "vertical_datum", "parcel", "site.address", "setting", "rock_unit", "land_use", "access_notes"}, nil},
	{"depths", "Depths", "", []string{"total_depth", "completed_depth", "depth_to_bedrock", "stop_reason"}, nil},
	{"ground", "The ground", "From the top down, the words as the driller wrote them.", nil, []string{"strata"}},
	{"hole", "Hole and casing", "", nil, []string{"casing", "bores", "screens", "grout"}},
	{"water", "Water", "", []string{"static_level", "yield", "yield_method", "strikes_as"}, []string{"strikes", "static_levels", "yield_tests", "quality"}},
	{"finish", "Finish and pump", "", []string{"finish.", "pump."}, nil},
	{"works", "Work", "", nil, []string{"treatments", "works", "shifts", "rods"}},
	{"people", "People", "", []string{"crew.", "owner."}, nil},
	{"rest", "Remarks", "", []string{"remarks"}, nil},
}

// plannedParts are the parts of the form; what no part names stands in the
// last.
func plannedParts() []editPlan {
	plans := slices.Clone(editPlans)
	named := func(p editProp) bool {
		return slices.ContainsFunc(plans, func(x editPlan) bool {
			if p.List != "" {
				return slices.Contains(x.lists, p.List)
			}
			return slices.ContainsFunc(x.fields, func(f string) bool { return f == p.Path || strings.HasSuffix(f, ".") && strings.HasPrefix(p.Path, f) })
		})
	}
	last := &plans[len(plans)-1]
	last.fields, last.lists = slices.Clone(last.fields), slices.Clone(last.lists)
	for _, p := range editProps() {
		switch {
		case named(p):
		case p.List != "":
			last.lists = append(last.lists, p.List)
		default:
			last.fields = append(last.fields, p.Path)
		}
	}
	return plans
}

// propsOf are the properties that a name of a plan stands for.
func propsOf(name string) []editProp {
	var out []editProp
	for _, p := range editProps() {
		if p.List == "" && (p.Path == name || strings.HasSuffix(name, ".") && strings.HasPrefix(p.Path, name)) {
			out = append(out, p)
		}
	}
	return out
}

// columnsOf are the properties of the rows of a list.
func columnsOf(list string) []editProp {
	var out []editProp
	for _, p := range editProps() {
		if p.List == list {
			out = append(out, p)
		}
	}
	return out
}

// editLabels are the names of fields whose own would puzzle a reader.
var editLabels = map[string]string{
	"coordinates_given": "Position", "located_by": "How located", "accuracy": "Good to", "vertical_datum": "Datum of the elevation",
	"site.address": "Address of the hole", "access_notes": "The way in", "depth_to_bedrock": "Depth to bedrock, as stated", "stop_reason": "Why drilling stopped",
	"total_depth": "Total depth drilled", "completed_depth": "Completed depth", "static_level": "Static water level", "yield": "Final yield", "yield_method": "How the yield was found",
	"strikes_as": "Flows of the strikes are", "counts_for_yield": "Counts in figures of yield", "number": "Well number", "permit_number": "Permit number",
	"strata[].description": "as the driller wrote it", "strata[].color": "colour", "strata[].water": "said of water", "casing[].wall": "wall",
	"casing[].outside_diameter": "outside", "casing[].socket_in_rock": "length in rock", "static_levels[].at_rest": "at rest", "yield_tests[].level_before": "level before",
	"quality[].kind": "what", "quality[].in_field": "measured in the field", "rods[].number": "rod", "works[].report": "its report",
	"finish.result": "Result of the inspection", "finish.ties": "Ties to fixed points", "pump.type": "Pump", "pump.set_depth": "Pump set at", "pump.power": "Power of the pump",
	"owner.name": "Owner", "owner.address": "Owner's address", "owner.telephone": "Owner's telephone",
}

// editHints say how a field is filled in.
var editHints = map[string]string{
	"coordinates_given": "any form: degrees, minutes, UTM", "datum": "WGS 84, NAD83 or NAD27; empty: not known", "started": "2004-06-15, 2004-06 or 2004", "completed": "as far as it is known",
	"total_depth": "62, 62'6\", 18.9m", "depth_to_bedrock": "not reached: >100", "yield": "6, <1, 50+, dry, seep", "static_level": "above ground: −2",
	"counts_for_yield": "empty: by its purpose", "owner.name": "private", "owner.address": "private", "owner.telephone": "private", "site.address": "private",
}

func editLabel(p editProp) string {
	if l, ok := editLabels[p.Path]; ok {
		return l
	}
	l := strings.ReplaceAll(p.Name, "_", " ")
	if p.List == "" {
		return capital(l)
	}
	return l
}

// editOne is what one row of a list is called, and editMany the list.
func editOne(list string) string {
	if w, ok := oneOf[list]; ok {
		return w
	}
	return "row of " + strings.ReplaceAll(list, "_", " ")
}

var editMany = map[string]string{
	"strata": "Strata", "casing": "Casing", "bores": "Hole", "screens": "Screens", "grout": "Grout", "strikes": "Water strikes", "static_levels": "Water levels",
	"yield_tests": "Yield tests", "quality": "Quality of the water", "treatments": "Development, disinfection, hydrofracture", "works": "What was done to the hole", "shifts": "Days of work", "rods": "Rods",
}

// editLeads are said of lists whose figures need it.
var editLeads = map[string]string{"casing": "Above ground is less than nothing: from −2 stands two above it.", "static_levels": "A level above ground is less than nothing."}

func editTitle(list string) string {
	if t, ok := editMany[list]; ok {
		return t
	}
	return capital(strings.ReplaceAll(list, "_", " "))
}

// editAside are columns that stand in a second line of their row, shown where
// somebody asks for them or something stands in them.
var editAside = map[string][]string{"strata": {"material", "color", "hardness", "weathering", "water"}}

// editLong are texts of more than a line.
var editLong = []string{"remarks", "access_notes"}

// mostTableColumns is up to how many columns a list is a table; with more, each
// row is set out as named fields.
const mostTableColumns = 6

// editUnit is the unit in which bare numbers of a dimension are taken.
func editUnit(u units) func(records.Dimension) records.Unit {
	return func(d records.Dimension) records.Unit {
		us := u.String() == "us"
		either := func(a, b records.Unit) records.Unit {
			if us {
				return a
			}
			return b
		}
		switch d {
		case records.DimLength:
			return u.LengthUnit()
		case records.DimDiameter:
			return u.DiameterUnit()
		case records.DimFlow:
			return u.FlowUnit()
		case records.DimVolume:
			return u.VolumeUnit()
		case records.DimPressure:
			return either(records.PoundPerSquareInch, records.Kilopascal)
		case records.DimPower:
			return either(records.Horsepower, records.Kilowatt)
		}
		return d.Base()
	}
}

package desk_test

import (
	"context"
	"reflect"
	"slices"
	"testing"

	"tallybook/geo/position"
	"tallybook/geo/surface"
	"tallybook/records"
	"tallybook/records/desk"
	"tallybook/records/snapshot"
)

// unasked are what needs no permission: it shows no record to anybody, or is
// what others are built of and asked about there.
var unasked = []string{"TypedOf", "Close", "Heights", "Model", "ModelSoon", "Permit", "Picture", "Refresh", "ReviewParts", "Span", "Validation", "Vocabulary"}

// TestEveryUseCaseAsks calls whatever a desk can do as somebody who may do
// nothing. A use case that is added is called too.
func TestEveryUseCaseAsks(t *testing.T) {
	d, _ := newDesk(t)
	w := plain(t, d, nil)
	kinds := map[reflect.Type]reflect.Value{
		reflect.TypeFor[context.Context]():     reflect.ValueOf(t.Context()),
		reflect.TypeFor[records.Actor]():       reflect.ValueOf(stranger),
		reflect.TypeFor[int64]():               reflect.ValueOf(w.ID),
		reflect.TypeFor[[]int64]():             reflect.ValueOf([]int64{w.ID}),
		reflect.TypeFor[string]():              reflect.ValueOf("T-1"),
		reflect.TypeFor[int]():                 reflect.ValueOf(5),
		reflect.TypeFor[*records.Well]():       reflect.ValueOf(w),
		reflect.TypeFor[*records.Plate]():      reflect.ValueOf(&records.Plate{Number: "P-1"}),
		reflect.TypeFor[*records.Layer]():      reflect.ValueOf(&records.Layer{Name: "Roads", Kind: "road"}),
		reflect.TypeFor[position.LonLat]():     reflect.ValueOf(position.LonLat{Lon: -72, Lat: 44}),
		reflect.TypeFor[*snapshot.Filter]():    reflect.ValueOf(&snapshot.Filter{}),
		reflect.TypeFor[desk.SurfaceAsk]():     reflect.ValueOf(desk.SurfaceAsk{Field: snapshot.Bedrock, Method: desk.ByNeighbours, Reading: desk.Middle}),
		reflect.TypeFor[surface.Grid]():        reflect.ValueOf(surface.Grid{Cols: 1, Rows: 1, CellW: 1, CellH: 1}),
		reflect.TypeFor[position.Projection](): reflect.ValueOf(position.ForExtent(-73, 43, -71, 45)),
	}
	asked := 0
	desks := reflect.ValueOf(d)
	for i := range desks.NumMethod() {
		m := desks.Type().Method(i)
		takesActor := slices.ContainsFunc(inputs(m.Func.Type()), func(in reflect.Type) bool { return in == reflect.TypeFor[records.Actor]() })
		if slices.Contains(unasked, m.Name) {
			continue
		}
		if !takesActor {
			t.Errorf("%s names no actor and is not among what needs no permission", m.Name)
			continue
		}
		args := []reflect.Value{desks}
		for _, in := range inputs(m.Func.Type())[1:] {
			v, ok := kinds[in]
			if !ok {
				v = reflect.Zero(in)
			}
			args = append(args, v)
		}
		call := m.Func.Call
		if m.Func.Type().IsVariadic() {
			call = m.Func.CallSlice
		}
		out := call(args)
		err, _ := out[len(out)-1].Interface().(error)
		if err == nil || records.CodeOf(err) != records.Forbidden {
			t.Errorf("%s by a stranger gives %v, want it forbidden", m.Name, err)
		}
		asked++
	}
	if asked < 18 {
		t.Errorf("only %d use cases were asked", asked)
	}
	if _, err := d.Well(t.Context(), me, w.ID); err != nil {
		t.Errorf("the stranger has changed something: %v", err)
	}
}

func inputs(f reflect.Type) []reflect.Type {
	var out []reflect.Type
	for i := range f.NumIn() {
		out = append(out, f.In(i))
	}
	return out
}

func TestActionsHaveWords(t *testing.T) {
	seen := map[string]bool{}
	for a := desk.Look; a <= desk.Administer; a++ {
		if a.String() == "" || a.String() == desk.Action(0).String() && a != 0 || seen[a.String()] {
			t.Errorf("action %d is called %q", a, a)
		}
		seen[a.String()] = true
	}
	if desk.Action(99).String() == "" {
		t.Error("an action that is none has no words")
	}
}

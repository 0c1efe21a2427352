package stamp

import (
	"bytes"
	"fmt"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"tallybook/records"
)

// PDF draws a plate at true size on a page of just its size. The letters are in
// the file, so that it prints alike everywhere.
func (d *Drawing) PDF(at time.Time) ([]byte, error) { return PDF([]*Drawing{d}, at) }

// PDF draws plates of one size, each on a page of its own.
func PDF(plates []*Drawing, at time.Time) ([]byte, error) {
	d := plates[0]
	name := d.Name
	if len(plates) > 1 {
		name = "Plates"
	}
	return pdf(d.Width, d.Height, name, at, len(plates), func(q *page, i int) { q.plate(plates[i], 0, 0) })
}

func pdf(w, h float64, name string, at time.Time, pages int, draw func(q *page, i int)) ([]byte, error) {
	f := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: w, Ht: h}})
	f.SetCatalogSort(true)
	f.SetCreationDate(at)
	f.SetModificationDate(at)
	f.SetTitle(name, true)
	f.SetProducer("tallybook", true)
	f.SetMargins(0, 0, 0)
	f.SetAutoPageBreak(false, 0)
	f.AddUTF8FontFromBytes("plate", "", plain().ttf)
	f.AddUTF8FontFromBytes("plate", "B", heavy().ttf)
	q := &page{f: f}
	for i := range pages {
		f.AddPage()
		draw(q, i)
	}
	var b bytes.Buffer
	if err := f.Output(&b); err != nil {
		return nil, fmt.Errorf("stamp: %w", err)
	}
	return b.Bytes(), nil
}

// page writes on a page of a PDF.
type page struct{ f *fpdf.Fpdf }

// pointsMM is a point in millimetres.
const pointsMM = 25.4 / 72

// plate draws a plate whose upper left corner is at x, y.
func (q *page) plate(d *Drawing, x, y float64) {
	f := q.f
	f.SetDrawColor(0, 0, 0)
	f.SetFillColor(0, 0, 0)
	f.SetTextColor(0, 0, 0)
	f.SetLineCapStyle("butt")
	f.SetLineJoinStyle("round")
	engraver := d.Tool == records.PlateEngraver
	f.SetLineWidth(0.1)
	if engraver {
		f.SetLineWidth(d.Line)
	}
	for _, h := range d.Holes {
		f.Circle(x+h.X, y+h.Y, h.Radius, "D")
	}
	for _, t := range d.Texts {
		if engraver {
			q.path(faceOf(t.Bold).outline(t.Words, x+t.X, y+t.Y, t.Size))
			continue
		}
		style := ""
		if t.Bold {
			style = "B"
		}
		f.SetFont("plate", style, t.Size/pointsMM)
		f.Text(x+t.X, y+t.Y, t.Words)
	}
	if d.Code == nil {
		return
	}
	if engraver {
		f.SetLineCapStyle("round")
		d.strokes(func(x0, x1, at float64) { f.Line(x+x0, y+at, x+x1, y+at) })
		return
	}
	d.Code.runs(func(cx, cy, run int) {
		f.Rect(x+d.CodeX+float64(cx)*d.Module, y+d.CodeY+float64(cy)*d.Module, float64(run)*d.Module, d.Module, "F")
	})
}

func (q *page) path(steps []step) {
	if len(steps) == 0 {
		return
	}
	for _, s := range steps {
		switch s.Do {
		case 'M':
			q.f.MoveTo(s.At[0][0], s.At[0][1])
		case 'L':
			q.f.LineTo(s.At[0][0], s.At[0][1])
		case 'C':
			q.f.CurveBezierCubicTo(s.At[0][0], s.At[0][1], s.At[1][0], s.At[1][1], s.At[2][0], s.At[2][1])
		case 'Z':
			q.f.ClosePath()
		}
	}
	q.f.DrawPath("D")
}

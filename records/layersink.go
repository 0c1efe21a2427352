package records

// A file of layers for a GIS is described by these types: a writer knows what
// the rows say, a store's package knows how a file of layers is made.

// LayerShape is the geometry of a layer's rows.
type LayerShape uint8

// The shapes. Positions are longitude and latitude, degrees on WGS 84; heights
// are metres above the vertical datum that a column of the row names.
const (
	ShapeNone   LayerShape = iota // a table
	ShapePoint                    // a point
	ShapePointZ                   // a point with a height
	ShapeLineZ                    // a line of two or more vertices with heights
)

// LayerColumn describes one column of a layer.
type LayerColumn struct {
	Name  string // in small letters, with its unit: total_depth_m
	Type  string // text, number, whole or flag
	Title string // for people
	Unit  string // symbol, "" where there is none
	About string
}

// LayerForm describes a layer. Its rows have the key "id".
type LayerForm struct {
	Name    string
	Title   string
	About   string
	Shape   LayerShape
	Columns []LayerColumn
}

// LayerView is a layer made of another by a query, to be read and not
// written: the same rows in other units, for example. Terms are SQL terms of
// the layer's columns, one for each column.
type LayerView struct {
	LayerForm
	Of    string
	Terms []string
}

// Vertex is a position: longitude and latitude in degrees on WGS 84, and a
// height in metres where the layer has heights.
type Vertex struct{ Lon, Lat, Height float64 }

// LayerSink takes layers and their rows. Nothing is to be read from the file
// before Close has ended it well; Drop lets go of it as it stands.
type LayerSink interface {
	Layer(LayerForm) error
	// Row adds a row; shape is empty where it has no place. values are nil,
	// string, float64, int64 or bool, one for each column.
	Row(layer string, shape []Vertex, values []any) error
	View(LayerView) error
	Close() error
	Drop() error
}

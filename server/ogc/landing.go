package ogc

import (
	"context"
	"net/url"
	"time"

	"tallybook/records"
	"tallybook/records/desk"
)

// crs84 is longitude and latitude on WGS 84, in this order.
const crs84 = "http://www.opengis.net/def/crs/OGC/1.3/CRS84"

// gregorian is the time that extents are told in.
const gregorian = "http://www.opengis.net/def/uom/ISO-8601/0/Gregorian"

type landingDoc struct {
	Title       string `json:"title"`
	Description string `json:"description"`
	Links       []link `json:"links"`
}

const (
	serviceTitle = "Well records"
	serviceAbout = "Wells, their strata and water strikes, plates and forecasts, as OGC API - Features. Owners' names, addresses and telephone numbers are not among them."
)

func (c *call) about() string {
	if c.s.o.Note != "" {
		return serviceAbout + " " + c.s.o.Note
	}
	return serviceAbout
}

// landing answers the landing page.
func (c *call) landing() error {
	doc := landingDoc{Title: serviceTitle, Description: c.about(), Links: append(c.selfLinks("", typeJSON),
		link{c.href("/api"), "service-desc", typeOpenAPI, "Description of the service (OpenAPI 3.0)"},
		link{c.href("/api?f=html"), "service-doc", typeHTML, "Description of the service, to read"},
		link{c.href("/conformance"), "conformance", typeJSON, "Requirements that are kept"},
		link{c.href("/collections"), "data", typeJSON, "Collections"})}
	if c.html {
		return c.s.o.Show(c.w, c.r, c.landingPage())
	}
	return c.sendJSON(typeJSON, doc)
}

type conformanceDoc struct {
	ConformsTo []string `json:"conformsTo"`
	Links      []link   `json:"links,omitempty"`
}

// conformanceClasses are those that are kept whole.
var conformanceClasses = []string{
	"http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/core",
	"http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/oas30",
	"http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/html",
	"http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/geojson",
	"http://www.opengis.net/spec/ogcapi-features-2/1.0/conf/crs",
	"http://www.opengis.net/spec/ogcapi-features-3/1.0/conf/queryables",
	"http://www.opengis.net/spec/ogcapi-features-3/1.0/conf/queryables-query-parameters",
	"http://www.opengis.net/spec/ogcapi-features-3/1.0/conf/filter",
	"http://www.opengis.net/spec/ogcapi-features-3/1.0/conf/features-filter",
	"http://www.opengis.net/spec/cql2/1.0/conf/cql2-text",
	"http://www.opengis.net/spec/cql2/1.0/conf/basic-cql2",
	"http://www.opengis.net/spec/cql2/1.0/conf/advanced-comparison-operators",
	"http://www.opengis.net/spec/cql2/1.0/conf/case-insensitive-comparison",
	"http://www.opengis.net/spec/cql2/1.0/conf/accent-insensitive-comparison",
	"http://www.opengis.net/spec/cql2/1.0/conf/basic-spatial-functions",
	"http://www.opengis.net/spec/cql2/1.0/conf/basic-spatial-functions-plus",
	"http://www.opengis.net/spec/cql2/1.0/conf/spatial-functions",
	"http://www.opengis.net/spec/cql2/1.0/conf/temporal-functions",
	"http://www.opengis.net/spec/cql2/1.0/conf/arithmetic",
}

func (c *call) conformance() error {
	if c.html {
		return c.s.o.Show(c.w, c.r, c.conformancePage())
	}
	return c.sendJSON(typeJSON, conformanceDoc{conformanceClasses, c.selfLinks("/conformance", typeJSON)})
}

type collectionsDoc struct {
	Links       []link          `json:"links"`
	Collections []collectionDoc `json:"collections"`
}

type collectionDoc struct {
	ID          string     `json:"id"`
	Title       string     `json:"title"`
	Description string     `json:"description"`
	Links       []link     `json:"links"`
	Extent      *extentDoc `json:"extent,omitempty"`
	ItemType    string     `json:"itemType"`
	CRS         []string   `json:"crs"`
	StorageCRS  string     `json:"storageCrs"`
}

type extentDoc struct {
	Spatial  *spatialDoc  `json:"spatial,omitempty"`
	Temporal *temporalDoc `json:"temporal,omitempty"`
}

type spatialDoc struct {
	BBox [][]float64 `json:"bbox"`
	CRS  string      `json:"crs"`
}

type temporalDoc struct {
	Interval [][]*string `json:"interval"`
	TRS      string      `json:"trs"`
}

func (c *call) collectionsList() error {
	doc := collectionsDoc{Links: c.selfLinks("/collections", typeJSON), Collections: []collectionDoc{}}
	for _, one := range c.collections() {
		d, err := c.collectionDoc(one)
		if err != nil {
			return err
		}
		doc.Collections = append(doc.Collections, d)
	}
	if c.html {
		return c.s.o.Show(c.w, c.r, c.collectionsPage())
	}
	return c.sendJSON(typeJSON, doc)
}

func (c *call) collectionOne() error {
	doc, err := c.collectionDoc(c.collection)
	if err != nil {
		return err
	}
	if c.html {
		page, err := c.collectionPage(doc)
		if err != nil {
			return err
		}
		return c.s.o.Show(c.w, c.r, page)
	}
	return c.sendJSON(typeJSON, doc)
}

// collectionPath is the address of a collection below Root.
func collectionPath(c *records.FeatureCollection) string {
	return "/collections/" + url.PathEscape(c.Name)
}

func (c *call) collectionDoc(of *records.FeatureCollection) (collectionDoc, error) {
	path := collectionPath(of)
	doc := collectionDoc{ID: of.Name, Title: of.Title, Description: of.About, ItemType: "feature", CRS: crsURIs, StorageCRS: crs84,
		Links: []link{
			{c.href(path + "?f=json"), "self", typeJSON, of.Title},
			{c.href(path + "?f=html"), "alternate", typeHTML, of.Title + ", as a page"},
			{c.href(path + "/items"), "items", typeGeoJSON, of.Title + ", a page at a time"},
			{c.href(path + "/items?f=html"), "items", typeHTML, of.Title + ", to look through"},
			{c.href(path + "/queryables"), relQueryables, typeSchema, "What can be asked for of " + of.Title},
			{c.href(path + "/schema"), relSchema, typeSchema, "Properties of " + of.Title},
			{c.href(path + "/download"), "enclosure", typeGeoJSON, "All " + of.Title + " in one file"},
			{c.href(path + "/download?f=ndjson"), "enclosure", typeNDJSON, "All " + of.Title + ", a feature a line"},
		}}
	x, err := c.extent(of)
	if err != nil {
		return doc, err
	}
	doc.Extent = extentOf(x)
	return doc, nil
}

// extent is looked up once a commit. The parts of logs lie where and when their
// wells do.
func (c *call) extent(of *records.FeatureCollection) (x records.FeatureExtent, err error) {
	if of.Name == records.FeaturesStrata || of.Name == records.FeaturesStrikes {
		if of, err = records.FeatureCollectionNamed(records.FeaturesWells); err != nil {
			return x, err
		}
	}
	commit, err := c.s.o.Source.Changes(c.r.Context(), c.actor)
	if err != nil {
		return x, err
	}
	if kept, ok := c.s.extents.get(of.Name, commit); ok {
		return kept, nil
	}
	err = c.features(of, func(ctx context.Context, f *desk.Features) error {
		x, err = f.Extent(ctx, of.Name)
		commit = f.Commit()
		return err
	})
	if err == nil {
		c.s.extents.put(of.Name, commit, x)
	}
	return x, err
}

func (c *call) features(of *records.FeatureCollection, fn func(context.Context, *desk.Features) error) error {
	ctx := c.r.Context()
	return c.s.o.Source.Features(ctx, c.actor, of.Name, func(f *desk.Features) error { return fn(ctx, f) })
}

func extentOf(x records.FeatureExtent) *extentDoc {
	var out extentDoc
	if x.Located {
		out.Spatial = &spatialDoc{BBox: [][]float64{{x.Box.West, x.Box.South, x.Box.East, x.Box.North}}, CRS: crs84}
	}
	if x.From != "" || x.To != "" {
		out.Temporal = &temporalDoc{Interval: [][]*string{{instantOf(x.From, false), instantOf(x.To, true)}}, TRS: gregorian}
	}
	if out == (extentDoc{}) {
		return nil
	}
	return &out
}

// instantOf is the first or last moment of a date as far as it is known; nil
// where it is none.
func instantOf(s string, last bool) *string {
	t := startOf(s)
	if t.IsZero() {
		return nil
	}
	if last {
		switch len(s) {
		case 4:
			t = t.AddDate(1, 0, 0).Add(-time.Second)
		case 7:
			t = t.AddDate(0, 1, 0).Add(-time.Second)
		case 10:
			t = t.AddDate(0, 0, 1).Add(-time.Second)
		}
	}
	text := t.UTC().Format(time.RFC3339)
	return &text
}

// Package ogc answers for the records as OGC API - Features (OGC 17-069r4):
// what a GIS reads over the web. It knows HTTP and the standard's documents; the
// features themselves come from a Source, the fields from
// records.FeatureCollections, and the look of its pages from who made it.
//
// One table serves all: a parameter, a property, a line of a schema or of the
// OpenAPI document is there because a field of a collection or an entry of
// the operations' parameters is. To add a property, add a field
// (records/features.go, and how it is read in records/sqlite/features.go). To add a
// parameter, add it to the operation's list and read it into a
// records.Condition: the store answers any condition, in the three-valued
// logic of SQL, with its values bound.
package ogc

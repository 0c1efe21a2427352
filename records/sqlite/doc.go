// Package sqlite keeps records in one SQLite file that is at the same time a
// layer for SpatiaLite, GDAL and QGIS, without loading any extension.
//
// Each record is kept whole as a GeoJSON feature (table well_records); the
// columns of the layer and the rows of strata are written from it in the same
// transaction. Programs that know nothing of this one may read everything and
// edit the layer: plain-SQL triggers keep the spatial index, the history and
// the caches right, and what they changed is taken into the record.
//
// It does not judge records: what is sound is said by the domain before it
// comes here. Only what would make a file that cannot be read again is
// refused.
package sqlite

import _ "tallybook/records/sqlite/compiler" // fails first where C cannot be compiled

package demo

import (
	"math"
	"strconv"

	"tallybook/geo/position"
)

// Terrain is the ground's height as an elevation grid would have it.
type Terrain struct {
	Name, File, VertDatum, Note string
	EPSG                        int
	ASC                         []byte // an ESRI ASCII grid, heights in metres
}

// terrainCellM is how wide its cells are.
const terrainCellM = 40

// Terrain gives the heights of the ground on which the wells were drilled,
// somewhat beyond the township, to a tenth of a metre. Its north-eastern corner
// is left out, as where a sheet ends.
func (t *Township) Terrain() Terrain {
	on := position.UTM(24, true)
	mx, my := on.Forward(position.LonLat{Lon: middleLon, Lat: middleLat})
	half := math.Ceil(halfM/terrainCellM) + 20
	cells := int(2 * half)
	minX, minY := math.Round(mx/terrainCellM-half)*terrainCellM, math.Round(my/terrainCellM-half)*terrainCellM
	b := []byte("ncols " + strconv.Itoa(cells) + "\nnrows " + strconv.Itoa(cells) + "\n")
	b = append(b, "xllcorner "+strconv.Itoa(int(minX))+"\nyllcorner "+strconv.Itoa(int(minY))+"\ncellsize "+strconv.Itoa(terrainCellM)+"\nNODATA_value -9999\n"...)
	for row := cells - 1; row >= 0; row-- {
		for col := range cells {
			at := on.Inverse(minX+(float64(col)+0.5)*terrainCellM, minY+(float64(row)+0.5)*terrainCellM)
			x, y := t.ground.plane.ToXY(at)
			if col > 0 {
				b = append(b, ' ')
			}
			if col+row > 2*cells-60 {
				b = append(b, "-9999"...)
				continue
			}
			b = strconv.AppendFloat(b, math.Round(t.ground.elevationM(x, y)*10)/10, 'f', -1, 64)
		}
		b = append(b, '\n')
	}
	return Terrain{Name: "Ninefold terrain (invented)", File: "ninefold-terrain.asc", VertDatum: vertDatum, EPSG: 32624, ASC: b,
		Note: "Invented with the township: no survey stands behind it."}
}

// vertDatum is what the township's elevations are counted from.
const vertDatum = "invented datum"

package predict

import "tallybook/geo/near"

// Index is the neighbour index of the observations on the set's projection:
// its positions are those of the rows given to NewObservations.
func (o *Observations) Index() *near.Index { return o.index }

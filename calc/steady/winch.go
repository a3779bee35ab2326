package steady

import (
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// FullDrum is the layer of a drum that is full, of however many layers.
const FullDrum = -1

// fullDrumLeast is what the last layer may leave of the rated pull.
const fullDrumLeast = 0.5

// Winch is a winch with line on its drum.
type Winch struct {
	// Rated is the line pull with one layer on the drum, as winches are
	// rated.
	Rated unit.Force
	// Layer counts the layers of line on the drum from 1, or is FullDrum.
	Layer int
}

// layers are the pulls of one winch in lbf by layer, as printed in US Army TM
// 9-2320-338-10, WP 0084-38. The ratios belong to that drum; they follow
// 1/(1 + 0.1·(n−1)), each layer a tenth of the bare drum's radius.
func layers() []unit.Force { return []unit.Force{20000, 18173, 16663, 15361, 14254} }

// LastLayer is the last layer in the table.
func LastLayer() int { return len(layers()) }

// LayerShare is what a layer leaves of the rated pull. With the drum full it
// lies between the half that some sources warn of and the last layer of the
// table.
func LayerShare(layer int) (Share, error) {
	table := layers()
	last := float64(table[len(table)-1] / table[0])
	switch {
	case layer == FullDrum:
		return Between(fullDrumLeast, last), nil
	case layer < 1 || layer > len(table):
		return Share{}, words.Error("steady.layer.wrong", ErrPlan, layer, len(table))
	}
	return Exactly(float64(table[layer-1] / table[0])), nil
}

// Pull is what the winch can pull with that much line on its drum.
func (w Winch) Pull() (Load, error) {
	if !(w.Rated > 0) {
		return Load{}, words.Error("steady.winch.unrated", ErrPlan)
	}
	share, err := LayerShare(w.Layer)
	return of(share, w.Rated), err
}

func (w Winch) sources() []Source {
	if w.Layer == FullDrum {
		return []Source{fullDrumRule(), layerTable()}
	}
	return []Source{layerTable()}
}

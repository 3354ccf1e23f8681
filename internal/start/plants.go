package start

import (
	"embed"
	"slices"
	"strings"

	"lampwright/internal/table"
)

//go:embed data/*.csv
var files embed.FS

// Plants is one row of the starting points: what light a class of plants is given at first.
type Plants struct {
	Key              string
	Title            string
	Kinds            []Kind  // places that it is proposed for
	PPFDMin, PPFDMax float64 // at the target [µmol/m²/s]
	DLIMin, DLIMax   float64 // [mol/m²/d]
	FullS            float64 // time at full level [s]
	CCTK             float64
	Source           string
}

// Proposals returns the starting points. Their sources are per row: data/plants.csv.
func Proposals() (out []Plants) {
	t := table.Must(files, "data/plants.csv", "ppfd_min", "ppfd_max", "dli_min", "dli_max", "hours", "cct")
	for i := range t.Rows() {
		p := Plants{
			Key: t.Text(i, "key"), Title: t.Text(i, "title"), Source: t.Text(i, "source"),
			PPFDMin: t.Number(i, "ppfd_min"), PPFDMax: t.Number(i, "ppfd_max"),
			DLIMin: t.Number(i, "dli_min"), DLIMax: t.Number(i, "dli_max"),
			FullS: 3600 * t.Number(i, "hours"), CCTK: t.Number(i, "cct"),
		}
		for _, k := range strings.Fields(t.Text(i, "kinds")) {
			p.Kinds = append(p.Kinds, Kind(k))
		}
		out = append(out, p)
	}
	return out
}

// proposalFor returns the row of a key that is proposed for a kind of place; of an empty key the middle one of them.
func proposalFor(key string, kind Kind) (Plants, bool) {
	of := slices.DeleteFunc(Proposals(), func(p Plants) bool { return !slices.Contains(p.Kinds, kind) })
	if key == "" {
		return of[(len(of)-1)/2], true
	}
	for _, p := range of {
		if p.Key == key {
			return p, true
		}
	}
	return Plants{}, false
}

//go:build !race

package source

const raceSlows = 1

//go:build race

package source

const raceSlows = 15 // the race detector's factor on time, generously

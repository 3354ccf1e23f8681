package quantity

import "strings"

// Near returns the name that a misspelt word was probably meant to be, and whether one of them is near enough: at most
// one letter in three put in, left out, changed or swapped with its neighbour, at least one and at most three.
func Near(word string, names []string) (string, bool) {
	w := []rune(strings.ToLower(word))
	if len(w) == 0 || len(w) > 100 {
		return "", false
	}
	best, bestAt := 0, -1
	for i, name := range names {
		n := []rune(strings.ToLower(name))
		most := min(max(min(len(w), len(n))/3, 1), 3)
		if len(n) > 100 || len(w)-len(n) > most || len(n)-len(w) > most {
			continue
		}
		if d := distance(w, n); d <= most && d < min(len(w), len(n)) && (bestAt < 0 || d < best) {
			best, bestAt = d, i
		}
	}
	if bestAt < 0 {
		return "", false
	}
	return names[bestAt], true
}

// distance returns the number of letters to put in, leave out, change or swap with a neighbour to turn a into b.
func distance(a, b []rune) int {
	two, one, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range one {
		one[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(row[j-1]+1, one[j]+1, one[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], two[j-2]+1)
			}
		}
		two, one, row = one, row, two
	}
	return one[len(b)]
}

package draw

// Sign is the icon beside the word of a severity: its shape identifies it without colour.
type Sign int

// The signs.
const (
	Octagon  Sign = iota // stop
	Triangle             // warn
	Question             // ask
	Square               // note
	Tick                 // pass
)

var signs = [...]string{
	`<path class="f-stop" d="M7 1.5h6L18.5 7v6L13 18.5H7L1.5 13V7z"/><path class="f-paper" d="M6 9h8v2.4H6z"/>`,
	`<path class="f-warn" d="M10 1.5 19 18.2H1z"/><path class="f-paper" d="M9 7.2h2V13H9zM9 14.3h2v2H9z"/>`,
	`<circle class="f-ask" cx="10" cy="10" r="9"/><path class="s-paper" fill="none" stroke-width="2" d="M7.2 7.8c0-3.6 5.8-3.6 5.6-.2-.1 2-2.8 2-2.8 4.4"/><circle class="f-paper" cx="10" cy="14.8" r="1.3"/>`,
	`<rect class="f-note" x="2" y="2" width="16" height="16" rx="1.5"/><path class="f-paper" d="M5.5 6h9v1.7h-9zM5.5 9.2h9v1.7h-9zM5.5 12.4h6v1.7h-6z"/>`,
	`<circle class="s-pass" fill="none" stroke-width="1.8" cx="10" cy="10" r="8.4"/><path class="s-pass" fill="none" stroke-width="2.2" d="M5.6 10.4 9 13.6l5.6-6.8"/>`,
}

// Inline returns the sign as an svg element of an HTML page. Screen readers skip it and read the word.
func (s Sign) Inline() string {
	return `<svg class="sign" viewBox="0 0 20 20" aria-hidden="true">` + signs[s] + `</svg>`
}

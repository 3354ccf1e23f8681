// Package day computes the programme of a lamp's day: settings and duties of its channels over the local clock, with
// clock changes, modifiers, exact integrals and tariffs.
//
// In: channels with points (second of the local clock, setting 0 to 1) and a curve; modifiers; a clock; instants in
// seconds of UTC since 2000-01-01 00:00, where every day has 86 400 s.
// Out: settings and duties at an instant, means and hours over spans of UTC, transitions of the clock, costs.
// Assumes: settings are linear between points and wrap over midnight. A setting is what the eye sees, the curve turns
// it into duty (0 to 1), and light is proportional to duty. Order: points × acclimation and moonlight → curve →
// clouds → power budget.
// Leaves to others: light, power and heat at a duty (engine), files (project), the present time.
package day

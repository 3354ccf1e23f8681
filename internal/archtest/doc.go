// Package house keeps the house in order: it holds nothing but tests over the source of the other packages.
//
// In: the source tree, as the go command and the parser see it.
// Out: test failures that say which rule is broken, where, and why the rule is there.
// Assumes: it runs from within the module's checkout, with the go command at hand.
// Leaves to others: whether the code computes what is right (each room's own tests, package verify).
package archtest

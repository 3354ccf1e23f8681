// Package archtest enforces the structure of the code base: it holds tests over the source tree and nothing else.
//
// In: the source tree, as the go command and the parser see it.
// Out: test failures that say which rule is broken, where, and why the rule is there.
// Assumes: it runs from within the module's checkout, with the go command at hand.
// Leaves to others: whether the code computes what is right (each package's own tests, package verify).
package archtest

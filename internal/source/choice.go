package source

import "reflect"

// Enum is a closed set of words: a string type that lists its values in the order that schema and reference show.
type Enum interface {
	~string
	Values() []string
}

// Choice is one word of a closed set.
type Choice[T Enum] struct {
	S   T
	Set bool
	At  Pos
}

// Word is a Choice of any set.
type Word interface{ Text() Text }

// Text returns the word without its type.
func (c Choice[T]) Text() Text { return Text{S: string(c.S), Set: c.Set, At: c.At} }

func (c Choice[T]) values() []string { return c.S.Values() }

func (c *Choice[T]) assign(t Text) { c.S, c.Set, c.At = T(t.S), t.Set, t.At }

// choice is a pointer to a Choice of any set.
type choice interface {
	values() []string
	assign(t Text)
}

// asChoice returns a new Choice, where a type is one.
func asChoice(t reflect.Type) (choice, bool) {
	c, ok := reflect.New(t).Interface().(choice)
	return c, ok
}

package cli

// benchCmd is the group of commands about measuring the built lamp.
type benchCmd struct {
	Review benchReviewCmd `cmd:"" help:"Compare the readings with the predictions; name faults; learn."`
}

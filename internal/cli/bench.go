package cli

// benchCmd is the group of commands about measuring the built lamp.
type benchCmd struct {
	Import benchImportCmd `cmd:"" help:"Append the readings of a CSV file to the readings file."`
	Review benchReviewCmd `cmd:"" help:"Compare the readings with the predictions; name faults; learn."`
}

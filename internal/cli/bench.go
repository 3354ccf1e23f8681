package cli

// benchCmd is the group of commands about measuring the built lamp.
type benchCmd struct {
	Import benchImportCmd `cmd:"" help:"Append the readings of a CSV file to the readings file."`
	Plan   benchPlanCmd   `cmd:"" help:"Plan the first power-up and the readings: what, where, what to expect."`
	Review benchReviewCmd `cmd:"" help:"Compare the readings with the predictions; name faults; learn."`
}

package bench

import (
	"context"
	"flag"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"golang.org/x/sync/errgroup"

	"lampwright/internal/project"
)

// demoModel returns the model of a campaign of all channels of a demo.
func demoModel(t testing.TB, name string) *Model {
	t.Helper()
	e := evaluated(t, name)
	var channels []string
	for i := range e.Lamp.Channels {
		channels = append(channels, e.Lamp.Channels[i].Name)
	}
	r, problems := project.LoadReadingsText("readings.yaml", []byte(textOf(e.Lamp, channels)), e.Lamp.Project)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	m, err := New(e.Sys, r)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

var coverageCampaigns = flag.Int("campaigns", 200, "synthetic campaigns in TestCoverage")

// TestCoverage draws campaigns of a demo from the priors: 95 % intervals hold the truth in 94 % to 96 % of all cases,
// and in 95 % within four standard deviations of the binomial distribution for every parameter: 88.8 % to 100 % of 200
// campaigns, 92.7 % to 97.3 % of 1500.
func TestCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("ten seconds")
	}
	campaigns := *coverageCampaigns
	m := demoModel(t, "long-tank")
	ctx := context.Background()
	if _, err := m.rowsAt(ctx, make([]float64, len(m.Params))); err != nil {
		t.Fatal(err)
	}
	type outcome struct{ held, told, learned []bool }
	outcomes := make([]outcome, campaigns)
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	cost := make([]float64, campaigns)
	for n := range outcomes {
		group.Go(func() error {
			one := *m
			one.Items = append([]Item(nil), m.Items...)
			one.cache, one.rows, one.start = nil, nil, nil
			rng := rand.New(rand.NewPCG(11, uint64(n)))
			z := make([]float64, len(m.Params))
			for j := range z {
				z[j] = rng.NormFloat64()
			}
			y, err := one.Predict(ctx, z)
			if err != nil {
				return err
			}
			for i := range one.Items {
				one.Items[i].Value = y[i] + one.Items[i].U*rng.NormFloat64()
			}
			f, err := one.Learn(ctx)
			if err != nil {
				return err
			}
			cost[n] = f.Gaussian.Misfit + f.Gaussian.FromPrior
			for j := range z {
				sd := math.Sqrt(f.Gaussian.Cov.At(j, j))
				outcomes[n].held = append(outcomes[n].held, math.Abs(z[j]-f.Gaussian.Z[j]) < 1.96*sd)
				outcomes[n].told = append(outcomes[n].told, sd < untoldRatio)
				outcomes[n].learned = append(outcomes[n].learned, sd < learnedRatio)
			}
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		t.Fatal(err)
	}
	held, all, mean := 0, 0, 0.0
	for n := range outcomes {
		mean += cost[n] / float64(campaigns)
	}
	for j := range m.Params {
		own, of, learned := 0, 0, 0
		for n := range outcomes {
			if !outcomes[n].told[j] {
				continue
			}
			of++
			if outcomes[n].held[j] {
				own++
			}
			if outcomes[n].learned[j] {
				learned++
			}
		}
		held, all = held+own, all+of
		if of == 0 {
			continue
		}
		share := float64(own) / float64(of)
		t.Logf("%-50s holds the truth in %5.1f %% of %d campaigns, learned in %d", m.Params[j].Name, 100*share, of,
			learned)
		if math.Abs(share-0.95) > 4*math.Sqrt(0.95*0.05/float64(of)) {
			t.Errorf("%s: the 95 %% interval holds the truth in %.1f %% of %d campaigns", m.Params[j].Name, 100*share,
				of)
		}
	}
	if share := float64(held) / float64(all); share < 0.94 || share > 0.96 {
		t.Errorf("95 %% intervals hold the truth in %.2f %% of %d cases", 100*share, all)
	}
	// The cost at the mode is χ² with as many degrees of freedom as readings, of a linear model.
	if n := float64(len(m.Items)); math.Abs(mean/n-1) > 4*math.Sqrt(2/n/float64(campaigns)) {
		t.Errorf("mean cost at the mode %.2f with %.0f readings", mean, n)
	}
}

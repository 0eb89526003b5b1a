package main

import (
	"context"
	"errors"
	"fmt"
	"os"

	"github.com/chromedp/chromedp"
)

// phone is a tab of a browser, as narrow as a phone.
type phone struct{ ctx context.Context }

func openPhone(ctx context.Context) (*phone, func(), error) {
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.DisableGPU)
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox)
	}
	ctx, stop := chromedp.NewExecAllocator(ctx, options...)
	ctx, close := chromedp.NewContext(ctx)
	end := func() { close(); stop() }
	p := &phone{ctx}
	if err := p.screen(360); err != nil {
		end()
		return nil, nil, fmt.Errorf("pictures need a Chromium: %w", err)
	}
	return p, end, nil
}

// screen sets how wide the screen is.
func (p *phone) screen(width int64) error {
	return chromedp.Do(p.ctx, chromedp.EmulateViewport(width, 800, chromedp.EmulateScale(1.5)))
}

// signIn opens the address that the demo prints and presses its button.
func (p *phone) signIn(address string) error {
	return chromedp.Do(p.ctx,
		chromedp.Navigate(address), chromedp.Click(chromedp.CSS("main form button")),
		chromedp.WaitReady(chromedp.CSS(`nav a[href="/apiaries"]`)))
}

// The ways through the demo's pages, as selectors of links.
const (
	toDue    = `a.name`
	toVisit  = `article.visit h3 a` // saying its apiary
	toRecord = `.acts a[href$="/record"]`
	toHive   = `h3 a[href^="/hive/"]`
)

// pages are what is due, a visit, and writing down what was found on it.
func (p *phone) pages() ([][]byte, error) {
	var shots [][]byte
	for _, way := range [][2]string{{toDue}, {toVisit, "Mill Meadow"}, {toRecord}} {
		if err := p.follow(way[0], way[1]); err != nil {
			return nil, err
		}
		if way[0] == toRecord { // past what stands in red above the form
			if err := p.run(`scrollTo(0, 2 * Math.round(document.querySelector("main h2").getBoundingClientRect().top / 2 - 8))`); err != nil {
				return nil, err
			}
		}
		shot, err := chromedp.Run(p.ctx, chromedp.CaptureScreenshot())
		if err != nil {
			return nil, err
		}
		shots = append(shots, shot)
	}
	return shots, nil
}

// chance is the year ahead of a hive whose lower box has stuck before, with
// some of the page's ground around it.
func (p *phone) chance() ([]byte, error) {
	if err := p.screen(640); err != nil {
		return nil, err
	}
	for _, way := range [][2]string{{toDue}, {toVisit, "Mill Meadow"}, {toHive, "Elder"}} {
		if err := p.follow(way[0], way[1]); err != nil {
			return nil, err
		}
	}
	const section = `section[aria-labelledby="h-chance"]`
	if err := p.run("document.querySelector('" + section + "').style.padding = '16px'"); err != nil {
		return nil, err
	}
	return chromedp.Run(p.ctx, chromedp.Screenshot(chromedp.CSS(section)))
}

// run runs a script in the page.
func (p *phone) run(script string) error {
	_, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](script+"; true"))
	return err
}

// follow goes where the first link of a selector that says a text leads.
func (p *phone) follow(selector, says string) error {
	address, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](fmt.Sprintf(
		`[...document.querySelectorAll(%q)].find(a => a.textContent.includes(%q))?.href ?? ""`, selector, says)))
	if err == nil && address == "" {
		err = errors.New("the page has no such link")
	}
	if err == nil {
		err = chromedp.Do(p.ctx, chromedp.Navigate(address))
	}
	if err != nil {
		return fmt.Errorf("follow %s %q: %w", selector, says, err)
	}
	return nil
}

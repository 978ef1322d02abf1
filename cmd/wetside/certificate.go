package main

import (
	"context"
	"fmt"
	"path/filepath"
	"time"

	"wetside/internal/certificate"
)

type certificateCmd struct {
	Host []string `required:"" placeholder:"HOST" help:"Name or address under which the board is opened, such as board.lab or 192.168.1.20. May be repeated."`
	Out  string   `default:"." placeholder:"DIR" help:"Folder for the four files. Default: ${default}"`
}

// Help implements kong.HelpProvider.
func (*certificateCmd) Help() string {
	return `Makes a certificate authority of the lab's own, good for these hosts only, and a certificate by it. Run again, it renews the certificate by the authority that is there: phones need not be touched again.`
}

// Run implements the command.
func (c *certificateCmd) Run(_ context.Context, s streams) error {
	made, err := certificate.Make(c.Out, c.Host, time.Now())
	if err != nil {
		return asUsage(err)
	}
	c.explain(s, made.Authority, made.Until)
	return nil
}

func (c *certificateCmd) explain(s streams, made bool, until time.Time) {
	at := func(name string) string { return filepath.Join(c.Out, name) }
	fmt.Fprintf(s.out, "The certificate holds until %s.\n\n", until.Format("2 January 2006"))
	fmt.Fprintf(s.out, "1. Start wetside with: --tls-cert %s --tls-key %s --address https://%s:PORT\n", at(certificate.CertFile), at(certificate.KeyFile), c.Host[0])
	if !made {
		fmt.Fprintln(s.out, "2. A running wetside takes the new certificate by itself. Phones that trust the lab's authority need nothing.")
		return
	}
	fmt.Fprintf(s.out, "2. Bring %s (only this file) to each phone and computer, and trust it there:\n", at(certificate.CAFile))
	fmt.Fprintln(s.out, "   Android: Settings, Security, Encryption and credentials, Install a certificate, CA certificate.")
	fmt.Fprintln(s.out, "   iPhone: open the file, install the profile, then Settings, General, About, Certificate Trust Settings: switch it on.")
	fmt.Fprintln(s.out, "   iPhone takes pages only once the board is on its home screen (Share, Add to Home Screen).")
	fmt.Fprintf(s.out, "3. Put %s in a safe place away from this machine: whoever has it can pass for these hosts. It is needed to renew.\n", at(certificate.CAKeyFile))
}

package access

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"fairset/internal/place"
	"fairset/unit"
)

// How long certificates last. A phone trusts the authority once; the server's own certificate is made anew
// before it ends. Phones refuse one of more than 825 days.
const (
	authorityYears = 10
	serverDays     = 365
	renewDays      = 60
)

// The authority may vouch only for names and addresses of a shop's own network, so that a phone that trusts
// it is not open to anybody else. source: RFC 1918, RFC 4193, RFC 4291, RFC 6762, RFC 8375.
var (
	ownNetworks = []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128"}
	ownNames    = []string{"local", "localhost", "home.arpa", "lan", "internal"}
)

// Certificates are what a shared shop's server shows, and the authority that phones must trust.
type Certificates struct {
	Server    tls.Certificate
	Authority []byte // PEM
	Made      bool   // a new authority was made: phones must trust it anew
}

// OwnHost reports whether the shop's own authority may vouch for a host: an address of a local network or a
// name of one, or this machine's bare name.
func OwnHost(host string) bool {
	if ip := net.ParseIP(host); ip != nil {
		return slices.ContainsFunc(ownNetworks, func(n string) bool {
			_, in, err := net.ParseCIDR(n)
			return err == nil && in.Contains(ip)
		})
	}
	host = strings.ToLower(strings.TrimSuffix(host, "."))
	return host != "" && (!strings.Contains(host, ".") || slices.ContainsFunc(ownNames, func(n string) bool { return host == n || strings.HasSuffix(host, "."+n) }))
}

// Ensure returns certificates for the hosts, kept in a folder of their own that only this account of the
// machine may read. What is missing, spoilt, soon over, or made for other hosts is made anew.
func Ensure(dir string, hosts []string, now time.Time) (Certificates, error) {
	for _, h := range hosts {
		if !OwnHost(h) {
			return Certificates{}, unit.Wrong("%q is no address of a local network: a certificate for it comes from whoever runs that name", h)
		}
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return Certificates{}, err
	}
	var out Certificates
	ca, caKey, err := load(dir, "authority")
	if err != nil || now.AddDate(1, 0, 0).After(ca.NotAfter) || now.Before(ca.NotBefore) && !lost(now) || !vouches(ca, hosts) {
		if ca, caKey, err = makeAuthority(dir, hosts, now); err != nil {
			return out, err
		}
		out.Made = true
	}
	leaf, leafKey, err := load(dir, "server")
	if err != nil || out.Made || now.AddDate(0, 0, renewDays).After(leaf.NotAfter) || now.Before(leaf.NotBefore) && !lost(now) || leaf.CheckSignatureFrom(ca) != nil || !covers(leaf, hosts) {
		if leaf, leafKey, err = makeServer(dir, ca, caKey, hosts, now); err != nil {
			return out, err
		}
	}
	out.Authority = pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: ca.Raw})
	out.Server = tls.Certificate{Certificate: [][]byte{leaf.Raw, ca.Raw}, PrivateKey: leafKey, Leaf: leaf}
	return out, nil
}

// lost reports that a clock is earlier than this program: it lost its time, as that of a small computer without a battery does,
// and says nothing of the certificates that are there. Phones go by clocks of their own.
func lost(now time.Time) bool { return now.Year() < 2026 }

// vouches reports whether the authority may speak for every host.
func vouches(ca *x509.Certificate, hosts []string) bool {
	for _, h := range hosts {
		if net.ParseIP(h) == nil && !strings.Contains(h, ".") && !slices.Contains(ca.PermittedDNSDomains, strings.ToLower(h)) {
			return false
		}
	}
	return true
}

func covers(leaf *x509.Certificate, hosts []string) bool {
	for _, h := range hosts {
		if leaf.VerifyHostname(h) != nil {
			return false
		}
	}
	return true
}

func load(dir, name string) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	pair, err := tls.LoadX509KeyPair(filepath.Join(dir, name+".crt"), filepath.Join(dir, name+".key"))
	if err != nil {
		return nil, nil, err
	}
	key, ok := pair.PrivateKey.(*ecdsa.PrivateKey)
	if !ok {
		return nil, nil, errors.New("a key of another kind")
	}
	return pair.Leaf, key, nil
}

func makeAuthority(dir string, hosts []string, now time.Time) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	t := &x509.Certificate{
		Subject: pkix.Name{CommonName: "A Fairset shop's own network", Organization: []string{"made by the shop itself"}},
		IsCA:    true, BasicConstraintsValid: true, MaxPathLenZero: true,
		KeyUsage:                    x509.KeyUsageCertSign,
		NotBefore:                   now.Add(-time.Hour),
		NotAfter:                    now.AddDate(authorityYears, 0, 0),
		PermittedDNSDomainsCritical: true,
		PermittedDNSDomains:         slices.Clone(ownNames),
	}
	for _, h := range hosts {
		if net.ParseIP(h) == nil && !strings.Contains(h, ".") && !slices.Contains(t.PermittedDNSDomains, strings.ToLower(h)) {
			t.PermittedDNSDomains = append(t.PermittedDNSDomains, strings.ToLower(h))
		}
	}
	for _, n := range ownNetworks {
		_, in, err := net.ParseCIDR(n)
		if err != nil {
			return nil, nil, err
		}
		t.PermittedIPRanges = append(t.PermittedIPRanges, in)
	}
	return makeOne(dir, "authority", t, nil, nil)
}

func makeServer(dir string, ca *x509.Certificate, caKey *ecdsa.PrivateKey, hosts []string, now time.Time) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	t := &x509.Certificate{
		Subject:     pkix.Name{CommonName: "Fairset"},
		KeyUsage:    x509.KeyUsageDigitalSignature,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		NotBefore:   now.Add(-time.Hour),
		NotAfter:    now.AddDate(0, 0, serverDays),
	}
	for _, h := range hosts {
		if ip := net.ParseIP(h); ip != nil {
			t.IPAddresses = append(t.IPAddresses, ip)
		} else {
			t.DNSNames = append(t.DNSNames, h)
		}
	}
	return makeOne(dir, "server", t, ca, caKey)
}

// makeOne makes a key and a certificate, signed by its issuer or by itself, and puts both in place.
func makeOne(dir, name string, t, issuer *x509.Certificate, issuerKey *ecdsa.PrivateKey) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, err
	}
	if t.SerialNumber, err = rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120)); err != nil {
		return nil, nil, err
	}
	if issuer == nil {
		issuer, issuerKey = t, key
	}
	raw, err := x509.CreateCertificate(rand.Reader, t, issuer, &key.PublicKey, issuerKey)
	if err != nil {
		return nil, nil, err
	}
	cert, err := x509.ParseCertificate(raw)
	if err != nil {
		return nil, nil, err
	}
	der, err := x509.MarshalECPrivateKey(key)
	if err != nil {
		return nil, nil, err
	}
	for _, f := range []struct {
		ext, kind string
		der       []byte
	}{{".key", "EC PRIVATE KEY", der}, {".crt", "CERTIFICATE", raw}} {
		if err := putPrivate(filepath.Join(dir, name+f.ext), pem.EncodeToMemory(&pem.Block{Type: f.kind, Bytes: f.der})); err != nil {
			return nil, nil, err
		}
	}
	return cert, key, nil
}

// putPrivate puts a whole file in place that only this account of the machine may read.
func putPrivate(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Chmod(0o600), f.Close()); err != nil {
		return err
	}
	return place.File(context.Background(), path, func(w io.Writer) error { // keeps the mode it has
		_, err := w.Write(data)
		return err
	})
}

// Fingerprint is the SHA-256 of a PEM certificate as phones show it: pairs of digits.
func Fingerprint(authority []byte) (string, error) {
	block, _ := pem.Decode(authority)
	if block == nil {
		return "", errors.New("no certificate")
	}
	sum := sha256.Sum256(block.Bytes)
	parts := make([]string, len(sum))
	for i, b := range sum {
		parts[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(parts, " "), nil
}

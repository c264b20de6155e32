package rational

import "math/big"

// readOff finds n and d with n/d near x·2^−shift, entry by entry, where x·2^−shift is within 2^(top−shift) of the true
// fractions: the smallest denominators that fit. False when they would be too long to be more than chance.
func readOff(x []*big.Int, shift, top int) (n []*big.Int, d *big.Int, ok bool) {
	const guard = 24
	most := shift - top - guard // bits that twice the denominator may have
	d = big.NewInt(1)
	n = make([]*big.Int, len(x))
	at := make([]*big.Int, len(x)) // d when n[i] was found
	var t, rest big.Int
	for i, v := range x {
		t.Mul(v, d)
		n[i] = nearest(&t, shift, &rest)
		if rest.BitLen() > d.BitLen()+top+2 {
			q, fits := denominator(&t, shift, d.BitLen()+top+2, most-2*d.BitLen())
			if !fits {
				return nil, nil, false
			}
			d = new(big.Int).Mul(d, q)
			n[i] = nearest(t.Mul(&t, q), shift, &rest)
		}
		at[i] = d
	}
	for i := range n {
		if at[i] != d {
			n[i].Mul(n[i], t.Quo(d, at[i]))
		}
	}
	return n, d, 2*d.BitLen() <= most
}

// nearest is t·2^−shift rounded; rest becomes the distance times 2^shift.
func nearest(t *big.Int, shift int, rest *big.Int) *big.Int {
	half := new(big.Int).Lsh(big.NewInt(1), uint(shift-1))
	n := new(big.Int).Add(t, half)
	n.Rsh(n, uint(shift)) // floors
	rest.Lsh(n, uint(shift))
	rest.Abs(rest.Sub(t, rest))
	return n
}

// denominator is the first denominator q of the continued fraction of t·2^−shift whose distance, times 2^shift, has at most
// bits more bits than q. False when 2·q would have more than most bits.
func denominator(t *big.Int, shift, bits, most int) (*big.Int, bool) {
	a := new(big.Int).Lsh(big.NewInt(1), uint(shift))
	b := new(big.Int).Mod(t, a)
	q0, q1 := big.NewInt(0), big.NewInt(1)
	var k, rem, next big.Int
	for b.Sign() != 0 {
		if 2*q1.BitLen() > most {
			return nil, false
		}
		if b.BitLen() <= q1.BitLen()+bits {
			return q1, true
		}
		k.QuoRem(a, b, &rem)
		a.Set(b)
		b.Set(&rem)
		next.Mul(&k, q1)
		next.Add(&next, q0)
		q0.Set(q1)
		q1.Set(&next)
	}
	return q1, 2*q1.BitLen() <= most
}

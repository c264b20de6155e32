package inventory

import "feedline/inventory/quantity"

// Part is mass in a product by where its polymer comes from. Additives count as VirginSource.
type Part struct {
	Source Source
	Mass   quantity.Mass
}

// Content is the recycled content of a product as ISO 14021:2016, 7.8, has it, as shares of the product's mass.
type Content struct {
	PostConsumer quantity.Share
	PreConsumer  quantity.Share
	Recycled     quantity.Share // both
}

// RecycledContent is post- and pre-consumer mass ÷ the mass of the product (EN 15343:2007). Regrind that a process makes and takes back
// (InHouse) is part of the product and adds no recycled content: ISO 14021 leaves it out by name. Zero for no mass.
func RecycledContent(parts []Part) Content {
	var post, pre, all quantity.Mass
	for _, p := range parts {
		all += p.Mass
		switch p.Source {
		case PostConsumer:
			post += p.Mass
		case PreConsumer:
			pre += p.Mass
		}
	}
	if !(all > 0) {
		return Content{}
	}
	return Content{PostConsumer: quantity.Share(post / all), PreConsumer: quantity.Share(pre / all), Recycled: quantity.Share((post + pre) / all)}
}

// Counts reports whether material of the source counts as recycled content.
func (s Source) Counts() bool { return s == PostConsumer || s == PreConsumer }

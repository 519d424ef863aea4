"""The cheapest trench over a priced ground: prices of straight links, of whole trenches, and the search among them."""

//! Published facts: rates, ingredients, sources.

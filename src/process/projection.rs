//! Projection matrices: growth rate, stable structure, elasticities.

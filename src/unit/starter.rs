//! Microbial starter and inoculated bran.

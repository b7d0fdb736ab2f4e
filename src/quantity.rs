//! Physical quantities with units, as read from and shown to people.

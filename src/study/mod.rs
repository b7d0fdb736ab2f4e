//! Questions asked of the model.

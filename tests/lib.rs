//! What the whole-product tests share.

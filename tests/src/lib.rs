//! What the black-box tests share.

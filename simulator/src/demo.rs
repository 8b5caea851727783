//! The demonstration: an embedded capture with the usual mistake in it.
/// s
pub fn run() -> Result<(String, u8), String> {
    Ok((String::new(), 0))
}

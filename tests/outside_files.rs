//! Finds recordings and captures that are used where they are, beside the project, and never copied into it.

use std::path::{Path, PathBuf};

/// The folder `shared/NAME` beside the project or beside any folder that the project is in; `None`, and a
/// printed word, where there is none.
pub fn folder(name: &str) -> Option<PathBuf> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let found = here.ancestors().map(|above| above.join("shared").join(name)).find(|path| path.is_dir());
    if found.is_none() {
        println!("skipped: there is no folder shared/{name} beside the project");
    }
    found
}

//! What the whole-product tests share.

pub mod edge_source;
pub mod jobs;
pub mod measure;
pub mod noise;
pub mod outside_files;
pub mod population;
pub mod running;
pub mod scene;

//! What is drawn, read back from the SVG.

use super::*;

//! Soil around a pit, as far as an owner knows it.

/// Class of the soil around a pit.
///
/// ```
/// use soaklife::soil::Soil;
/// assert_eq!(Soil::default(), Soil::Unknown);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[non_exhaustive]
pub enum Soil {
    /// Gravel.
    Gravel,
    /// Sand.
    Sand,
    /// Loam.
    Loam,
    /// Silt.
    Silt,
    /// Clay.
    Clay,
    /// Not known.
    #[default]
    Unknown,
}

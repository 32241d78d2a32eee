//! Where the level stands: the height at which the wetted wall takes what flows in.

use std::f64::consts::PI;

/// What the balance needs of a pit, in metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// Diameter of the pit.
    pub diameter_m: f64,
    /// Suction in the soil just outside the clogging layer, as a positive height.
    pub suction_m: f64,
    /// Conductance of a unit of floor over that of a unit of wall: 0 where sludge has sealed the floor.
    pub floor_share: f64,
}

impl Balance {
    /// Flow taken with liquid standing at `level_m` behind a layer of `resistance_d` days, m³ a day.
    ///
    /// `Q = (π D / R)(H²/2 + ψ H) + s (π D²/4)(H + ψ) / R`: Darcy's law through a thin clogging layer, the pressure
    /// head growing with depth below the surface and the suction pulling at every height.
    ///
    /// # Source
    /// Bouma (1975), *J. Environ. Eng. Div. ASCE* 101(6), 967–983, for the flux through the layer; its integral over
    /// the wall is elementary.
    #[must_use]
    pub fn accepted_m3_per_day(&self, level_m: f64, resistance_d: f64) -> f64 {
        let wall = PI * self.diameter_m * (level_m * level_m / 2.0 + self.suction_m * level_m);
        let floor = self.floor_area_m2() * self.floor_share * (level_m + self.suction_m);
        (wall + floor) / resistance_d
    }

    /// Level at which the pit takes `flow_m3_per_day`: the same equation solved for the height, 0 if the floor alone
    /// takes the flow.
    #[must_use]
    pub fn level_m(&self, flow_m3_per_day: f64, resistance_d: f64) -> f64 {
        let perimeter = PI * self.diameter_m;
        let floor = self.floor_area_m2() * self.floor_share;
        // perimeter/2 · H² + linear · H − surplus = 0
        let linear = perimeter * self.suction_m + floor;
        let surplus = flow_m3_per_day * resistance_d - floor * self.suction_m;
        if surplus <= 0.0 {
            return 0.0;
        }
        2.0 * surplus / (linear + (linear * linear + 2.0 * perimeter * surplus).sqrt())
    }

    /// Area under liquid standing at `level_m`: wall and floor.
    #[must_use]
    pub fn wetted_m2(&self, level_m: f64) -> f64 {
        PI * self.diameter_m * level_m + self.floor_area_m2()
    }

    /// Time in which a disturbed level comes back, years: plan area over the growth of acceptance with height.
    #[must_use]
    pub fn response_years(&self, level_m: f64, resistance_d: f64) -> f64 {
        let per_metre =
            PI * self.diameter_m * (level_m + self.suction_m) + self.floor_area_m2() * self.floor_share;
        self.floor_area_m2() * resistance_d / per_metre / 365.25
    }

    fn floor_area_m2(&self) -> f64 {
        PI * self.diameter_m * self.diameter_m / 4.0
    }
}

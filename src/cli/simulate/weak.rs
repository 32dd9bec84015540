//! A weak cylinder as an option says it: `3=62`.

use std::str::FromStr;

use crate::simulate::WEAK_KEEPS;

/// A cylinder, and the percent of its peak pressure when sound that it keeps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct WeakCylinder {
    pub(crate) cylinder: usize,
    pub(crate) percent: f64,
}

impl FromStr for WeakCylinder {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let told = || "write cylinder=percent, as in 3=62".to_owned();
        let (cylinder, percent) = text.split_once('=').ok_or_else(told)?;
        let cylinder = cylinder.trim().parse().map_err(|_| told())?;
        let percent = percent.trim().parse().map_err(|_| told())?;
        if !WEAK_KEEPS.contains(&percent) {
            let (least, most) = (WEAK_KEEPS.start(), WEAK_KEEPS.end());
            return Err(format!("a cylinder can keep {least} to {most} percent"));
        }
        Ok(WeakCylinder { cylinder, percent })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weak_cylinder_is_read_or_told_how_it_is_written() {
        let weak = WeakCylinder {
            cylinder: 3,
            percent: 62.5,
        };
        assert_eq!("3=62.5".parse(), Ok(weak));
        assert_eq!(" 3 = 62.5 ".parse(), Ok(weak));
        let told = Err("write cylinder=percent, as in 3=62".to_owned());
        for wrong in ["3:62", "3", "=62", "3=", "-1=62", "3=62%"] {
            assert_eq!(wrong.parse::<WeakCylinder>(), told, "{wrong}");
        }
        let range = Err("a cylinder can keep 10 to 100 percent".to_owned());
        for wrong in ["3=9.9", "3=101", "3=NaN", "3=inf"] {
            assert_eq!(wrong.parse::<WeakCylinder>(), range, "{wrong}");
        }
    }
}

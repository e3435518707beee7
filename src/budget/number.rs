//! Small numbers with their range in the type: degrees of freedom, probabilities, dates.

use std::fmt;

/// Degrees of freedom: 1 to infinity.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Dof(f64);

impl Dof {
    /// Infinitely many: exactly known.
    pub const INFINITE: Dof = Dof(f64::INFINITY);

    /// Returns `dof` where it is at least 1, else `None`.
    pub fn new(dof: f64) -> Option<Dof> {
        (dof >= 1.0).then_some(Dof(dof))
    }

    /// Returns the number, possibly infinite.
    pub fn get(self) -> f64 {
        self.0
    }
}

/// A probability strictly between 0 and 1.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Probability(f64);

impl Probability {
    /// Returns `p` where 0 < p < 1, else `None`.
    pub fn new(p: f64) -> Option<Probability> {
        (p > 0.0 && p < 1.0).then_some(Probability(p))
    }

    /// Returns the number, as a fraction of one.
    pub fn get(self) -> f64 {
        self.0
    }
}

/// A calendar date, `YYYY-MM-DD`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date {
    year: u16,
    month: u8,
    day: u8,
}

impl Date {
    /// Reads `YYYY-MM-DD`; `None` where that is no date of the Gregorian calendar.
    pub fn parse(text: &str) -> Option<Date> {
        let bytes = text.as_bytes();
        let shape = bytes.len() == 10
            && bytes.iter().enumerate().all(|(i, b)| match i {
                4 | 7 => *b == b'-',
                _ => b.is_ascii_digit(),
            });
        if !shape {
            return None;
        }
        let date = Date {
            year: text[0..4].parse().ok()?,
            month: text[5..7].parse().ok()?,
            day: text[8..10].parse().ok()?,
        };
        let valid = (1..=12).contains(&date.month) && (1..=date.days()).contains(&date.day);
        valid.then_some(date)
    }

    /// Days of the date's month.
    fn days(self) -> u8 {
        let leap = self.year.is_multiple_of(4)
            && (!self.year.is_multiple_of(100) || self.year.is_multiple_of(400));
        match self.month {
            2 if leap => 29,
            2 => 28,
            4 | 6 | 9 | 11 => 30,
            _ => 31,
        }
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_those_of_the_calendar() {
        for good in ["2026-11-02", "2024-02-29", "2000-02-29", "1999-12-31"] {
            assert_eq!(Date::parse(good).unwrap().to_string(), good);
        }
        for bad in [
            "2026-02-29",
            "1900-02-29",
            "2026-13-01",
            "2026-04-31",
            "2026-1-2",
            "02.11.2026",
            "",
            "2026-00-01",
            "2026-01-00",
        ] {
            assert!(Date::parse(bad).is_none(), "{bad}");
        }
    }

    #[test]
    fn ranges_are_open_where_they_must_be() {
        assert!(Dof::new(0.999).is_none() && Dof::new(f64::NAN).is_none());
        assert!(Dof::new(1.0).is_some() && Dof::new(f64::INFINITY).is_some());
        assert!(Probability::new(0.0).is_none() && Probability::new(1.0).is_none());
        assert!(Probability::new(f64::NAN).is_none() && Probability::new(0.5).is_some());
    }
}

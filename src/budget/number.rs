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

    /// Returns what a date in another notation says: day, month and year with points between, or year,
    /// month and day with other marks. Slashes are left alone: which of the two is the month depends
    /// on who reads it.
    pub fn meant(text: &str) -> Option<String> {
        let pieces: Vec<&str> = text.trim().split(['.', '-', '/', ' ']).collect();
        let numbers: Vec<u16> = pieces.iter().map(|it| it.parse().ok()).collect::<Option<_>>()?;
        let (year, month, day) = match numbers.as_slice() {
            [year @ 1000..=9999, month, day] => (year, month, day),
            [day, month, year @ 1000..=9999] if text.contains('.') => (year, month, day),
            _ => return None,
        };
        Date::parse(&format!("{year:04}-{month:02}-{day:02}")).map(|it| it.to_string())
    }

    /// Days of the date's month.
    fn days(self) -> u8 {
        let divides = |it: u16| self.year.is_multiple_of(it);
        let leap = divides(4) && (!divides(100) || divides(400));
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

    #[test]
    fn a_date_in_another_notation_is_offered_where_it_is_clear() {
        let meant = |text: &str| Date::meant(text);
        for text in ["1.3.2027", "01.03.2027", "2027/3/1", "2027-3-1", "2027 03 01"] {
            assert_eq!(meant(text).as_deref(), Some("2027-03-01"), "{text}");
        }
        for text in ["1/3/2027", "30.2.2027", "March 2027", "1.3.27", ""] {
            assert_eq!(meant(text), None, "{text}");
        }
    }
}

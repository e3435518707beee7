//! Record ⇄ JSON: pretty, shortest numbers that round-trip, a closing newline.

use super::{NotFinite, Record, VERSION, finite};

/// Why a text is no record.
#[derive(Debug, thiserror::Error)]
pub enum NotARecord {
    /// It is not JSON, or its fields are not those of a record.
    #[error("not a record: {0}")]
    Form(#[from] serde_json::Error),
    /// It is a record of a version that this program does not know.
    #[error("record version {0}: this program reads version {VERSION}")]
    Version(u32),
}

impl Record {
    /// Returns the record as JSON, indented by two spaces, with a closing newline.
    ///
    /// # Errors
    ///
    /// [`NotFinite`] with the path of the first number that is NaN or infinite: such a record must
    /// not leave the program.
    pub fn to_json(&self) -> Result<String, NotFinite> {
        finite::check(self)?;
        let mut json = serde_json::to_string_pretty(self)
            .expect("a record has text keys and no writer that fails");
        json.push('\n');
        Ok(json)
    }

    /// Reads a record back from JSON.
    ///
    /// # Errors
    ///
    /// [`NotARecord`] for anything that this version would not have written.
    pub fn from_json(json: &str) -> Result<Record, NotARecord> {
        let record: Record = serde_json::from_str(json)?;
        if record.record == VERSION { Ok(record) } else { Err(NotARecord::Version(record.record)) }
    }
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;

    #[test]
    fn reads_back_what_it_writes() {
        for record in [
            sample::shown(),
            sample::judged(),
            sample::worksheet(),
            sample::card(),
            sample::crosscheck(),
        ] {
            let json = record.to_json().unwrap();
            assert_eq!(Record::from_json(&json).unwrap(), record);
            assert!(json.ends_with("}\n"));
        }
    }

    #[test]
    fn refuses_a_number_that_is_not_finite_and_says_where() {
        let mut record = sample::shown();
        record.sections[0].points[2].contributors[1].share = f64::NAN;
        let fault = record.to_json().unwrap_err();
        assert_eq!(fault.path, "sections[0].points[2].contributors[1].share");
        let mut record = sample::shown();
        record.sections[0].points[0].interval[1] = f64::INFINITY;
        assert_eq!(record.to_json().unwrap_err().path, "sections[0].points[0].interval[1]");
    }

    #[test]
    fn refuses_an_unknown_field_and_another_version() {
        let json = sample::shown().to_json().unwrap();
        let extra = json.replacen("\"record\": 1", "\"record\": 1, \"extra\": 0", 1);
        assert!(matches!(Record::from_json(&extra), Err(NotARecord::Form(_))));
        let newer = json.replacen("\"record\": 1", "\"record\": 2", 1);
        assert!(matches!(Record::from_json(&newer), Err(NotARecord::Version(2))));
    }
}

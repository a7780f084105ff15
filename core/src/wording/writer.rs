//! Writes text and fixed-point numbers into a lent buffer.

use super::Text;
use crate::finding::{Evidence, Metric, MetricUnit};
use fixed::types::I16F16;

/// In which unit temperatures are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum TemperatureUnit {
    /// °C, differences in K.
    #[default]
    Celsius,
    /// °F, differences in °F.
    Fahrenheit,
}

/// Appends UTF-8 to a buffer. What does not fit is not written, but counted, so that the caller learns the size
/// needed; a character is written whole or not at all, and nothing follows one that did not fit.
#[derive(Debug)]
pub struct Writer<'b> {
    buffer: &'b mut [u8],
    written: usize,
    needed: usize,
}

impl<'b> Writer<'b> {
    /// A writer at the start of `buffer`, which may be empty.
    pub fn new(buffer: &'b mut [u8]) -> Self {
        Self { buffer, written: 0, needed: 0 }
    }

    /// Bytes the whole text takes.
    #[must_use]
    pub const fn needed(&self) -> usize {
        self.needed
    }

    /// Bytes written; the buffer holds valid UTF-8 up to here.
    #[must_use]
    pub const fn written(&self) -> usize {
        self.written
    }

    /// Appends text.
    #[inline(never)]
    pub fn text(&mut self, text: &str) -> &mut Self {
        text.bytes().for_each(|byte| self.byte(byte));
        self
    }

    /// Appends a phrase.
    pub fn phrase(&mut self, phrase: Text) -> &mut Self {
        phrase.bytes(|byte| self.byte(byte));
        self
    }

    /// Appends the next byte of UTF-8; whole characters are the caller's part.
    fn byte(&mut self, byte: u8) {
        if self.written == self.needed {
            // A first byte is written only if the others of its character fit as well, and nothing after one that did
            // not fit.
            let length = match byte {
                0..0xC0 => 1,
                0xC0..0xE0 => 2,
                0xE0..0xF0 => 3,
                _ => 4,
            };
            if self.buffer.len() - self.written >= length
                && let Some(room) = self.buffer.get_mut(self.written)
            {
                *room = byte;
                self.written += 1;
            }
        }
        self.needed += 1;
    }

    /// Appends a whole number.
    pub fn number(&mut self, value: i64) -> &mut Self {
        self.digits(value < 0, value.unsigned_abs(), 1)
    }

    /// Appends `millionths`/10⁶ with 0 to 3 decimals, rounded to nearest, ties away from zero.
    #[inline(never)]
    pub fn decimal(&mut self, millionths: i64, decimals: u8) -> &mut Self {
        let per_one = match decimals {
            0 => 1,
            1 => 10,
            2 => 100,
            _ => 1_000,
        };
        let step = 1_000_000 / per_one;
        let steps = (millionths.saturating_abs().unsigned_abs() + step / 2) / step;
        self.digits(millionths < 0 && steps > 0, steps, per_one)
    }

    /// Appends `steps`/`per_one`, which is a power of ten.
    #[inline(never)]
    fn digits(&mut self, negative: bool, steps: u64, per_one: u64) -> &mut Self {
        if negative {
            self.byte(b'-');
        }
        let mut power = per_one;
        while steps.checked_div(power).is_some_and(|rest| rest >= 10) {
            power *= 10;
        }
        // Ends when the power becomes 0.
        while let Some(rest) = steps.checked_div(power) {
            if power * 10 == per_one {
                self.byte(b'.');
            }
            self.byte(b'0' + (rest % 10) as u8);
            power /= 10;
        }
        self
    }

    /// Appends a value of evidence with its expanded uncertainty (k = 2), if it has one, and its unit.
    pub fn value(&mut self, evidence: &Evidence, unit: TemperatureUnit) -> &mut Self {
        self.quantity(evidence.metric, evidence.value, evidence.uncertainty, unit)
    }

    /// A value of a metric with its standard uncertainty, which may be 0.
    pub(super) fn quantity(
        &mut self,
        metric: Metric,
        value: I16F16,
        uncertainty: I16F16,
        unit: TemperatureUnit,
    ) -> &mut Self {
        let fahrenheit = unit == TemperatureUnit::Fahrenheit;
        // Q16.16 to millionths; 2^31 · 10^6 fits in 51 bits.
        let millionths = |bits: i32| i64::from(bits) * 1_000_000 / 65_536;
        let (mut value, mut expanded) = (millionths(value.to_bits()), 2 * millionths(uncertainty.to_bits()));
        let metric = metric.unit();
        let symbol = match metric {
            MetricUnit::Kelvin if fahrenheit => " °F",
            MetricUnit::Kelvin => " °C",
            MetricUnit::KelvinDifference if fahrenheit => " °F",
            MetricUnit::KelvinDifference => " K",
            MetricUnit::One => "",
            MetricUnit::Seconds => " s",
            MetricUnit::Millimeters => " mm",
            MetricUnit::KilopascalsPerDay => " kPa/d",
        };
        if metric == MetricUnit::Kelvin {
            value -= 273_150_000;
        }
        if fahrenheit && matches!(metric, MetricUnit::Kelvin | MetricUnit::KelvinDifference) {
            (value, expanded) = (value * 9 / 5, expanded * 9 / 5);
            if metric == MetricUnit::Kelvin {
                value += 32_000_000;
            }
        }
        // Two significant digits of the uncertainty are enough.
        let decimals = match metric {
            MetricUnit::Seconds | MetricUnit::KilopascalsPerDay => 0,
            MetricUnit::One => 2,
            _ if expanded > 0 && expanded < 1_000_000 => 2,
            _ => 1,
        };
        self.decimal(value, decimals);
        if expanded > 0 {
            self.text(" ± ").decimal(expanded, decimals);
        }
        self.text(symbol)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::string::String;

    fn written(write: impl Fn(&mut Writer<'_>)) -> String {
        let mut buffer = [0u8; 64];
        let mut writer = Writer::new(&mut buffer);
        write(&mut writer);
        let length = writer.written();
        String::from_utf8(buffer[..length].to_vec()).unwrap()
    }

    #[test]
    fn decimals_round_to_nearest() {
        let cases = [
            (1_250_000, 1, "1.3"),
            (-1_249_999, 1, "-1.2"),
            (-40_000, 1, "0.0"),
            (999_960, 1, "1.0"),
            (7, 3, "0.000"),
            (21_006_000, 2, "21.01"),
            (0, 0, "0"),
            (-500_000, 0, "-1"),
        ];
        for (millionths, decimals, expected) in cases {
            let text = written(|w| {
                w.decimal(millionths, decimals);
            });
            assert_eq!(text, expected);
        }
        let text = written(|w| {
            w.number(-1_203);
        });
        assert_eq!(text, "-1203");
    }

    #[test]
    fn what_does_not_fit_is_counted_and_characters_stay_whole() {
        let mut buffer = *b"....";
        let mut writer = Writer::new(&mut buffer);
        writer.text("ab±°c");
        assert_eq!((writer.written(), writer.needed()), (4, 7));
        assert_eq!(&buffer, "ab±".as_bytes());
        let mut three = *b"...";
        let mut writer = Writer::new(&mut three);
        writer.text("ab±c");
        assert_eq!((writer.written(), writer.needed()), (2, 5));
        assert_eq!(&three, b"ab.");
    }
}

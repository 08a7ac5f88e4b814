#pragma once
// The regression behind a projection, as a table by minutes since the open. Data and a lookup; pure.

namespace brimwatch {

/// mu = prior + ln(share to come) + a + cumulative u + recent w + gap min(g, 6) + expiry [quarterly expiry day]; the
/// error of ln(volume to come) is Student-t with scale `spread`.
struct Coefficients {
  double a = 0, cumulative = 0, recent = 0, gap = 0, expiry = 0, spread = 0;
};

/// Linear in minutes of a 390-minute session, constant beyond the table's ends. Where the opening gap is not known, the
/// early volume has to speak for it too: a and gap are 0 and the slopes are the larger ones measured without it.
[[nodiscard]] Coefficients coefficients_at(double minutes_of_390, bool gap_known);

}  // namespace brimwatch

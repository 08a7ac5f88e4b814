#pragma once
// The regression behind a projection, as a table by minutes since the open. Data and a lookup; pure.

namespace brimwatch {

/// ln(volume to come) = prior + ln(share to come) + shift + slope x surprise, and `expiry` on quarterly expiry days; its
/// error is Student-t with scale `spread`.
struct Coefficients {
  double shift = 0, slope = 0, expiry = 0, spread = 0;
};

/// Linear in minutes of a 390-minute session, constant beyond the table's ends. `gap`: the opening gap in daily standard
/// deviations, below 0 where it is not known; then the early volume has to speak for it too, with the larger slopes
/// measured without it. From half an hour on the volume always does: only what lies beyond 1.2 deviations still adds
/// something.
[[nodiscard]] Coefficients coefficients_at(double minutes_of_390, double gap);

}  // namespace brimwatch

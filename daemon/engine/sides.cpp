#include "engine/sides.h"

#include <algorithm>

namespace brimwatch {
namespace {

/// One step of one watch.
class Stepper {
 public:
  Stepper(WatchStand& stand, const Levels& levels, const Rules& rules, const Step& step)
      : m_(stand), levels_(levels), rules_(rules), step_(step) {}

  SideEvents run() {
    if (m_.side == Side::unknown || m_.side == Side::under) rise();
    if (m_.side == Side::inside && step_.price > levels_.range_top) leave();
    if (m_.side == Side::over && step_.price <= levels_.back) come_back();
    fall();
    gain();
    return out_;
  }

 private:
  void happen(NoticeKind kind, bool told, bool last_today = false) {
    auto& count = m_.counts[static_cast<std::size_t>(kind)];
    if (count < std::numeric_limits<std::uint16_t>::max()) ++count;
    out_.list[static_cast<std::size_t>(out_.size++)] = {kind, told, last_today, count, m_.side};
  }

  [[nodiscard]] std::uint16_t count(NoticeKind kind) const { return m_.counts[static_cast<std::size_t>(kind)]; }
  [[nodiscard]] bool follow_up_told(NoticeKind kind) const { return m_.told && count(kind) < rules_.per_day; }

  void rise() {
    if (step_.price < levels_.pivot) {
      m_.side = Side::under;
      stop_confirming();
      return;
    }
    const bool opens_over = step_.price > levels_.range_top && (step_.first_of_day || m_.side == Side::unknown);
    if (!m_.armed) {
      return_unarmed();
    } else if (is_large_enough() && confirmed(opens_over)) {
      cross(m_.confirm_opened_over);
    }
  }

  [[nodiscard]] bool is_large_enough() const {
    return !(step_.size > Shares{}) || step_.size >= Shares::whole(rules_.least_size);
  }

  void stop_confirming() {
    m_.confirm_trades = 0;
    m_.confirm_opened_over = false;
  }

  bool confirmed(bool opens_over) {
    if (m_.confirm_trades == 0) {
      m_.confirm_since = step_.time;
      m_.confirm_opened_over = opens_over;
    }
    const bool counts = !step_.again || m_.confirm_trades == 0;
    if (counts && m_.confirm_trades < std::numeric_limits<std::uint16_t>::max()) ++m_.confirm_trades;
    if (step_.price <= levels_.range_top) m_.confirm_opened_over = false;
    return m_.confirm_trades >= rules_.confirm_trades &&
           step_.time - m_.confirm_since >= rules_.confirm_seconds * kSecond;
  }

  void cross(bool opened_over) {
    const int so_far = count(NoticeKind::crossed) + count(NoticeKind::opened_over);
    const bool past = step_.price > levels_.range_top;
    m_.side = past ? Side::over : Side::inside;
    m_.away = m_.never_inside = past;
    m_.armed = false;
    m_.following = true;
    m_.told = so_far < rules_.per_day;
    m_.held = step_.hold_back;
    if (!levels_.is_held()) m_.loss_pending = true;
    m_.arrived_told = m_.faded_told = false;
    m_.weight_said = Weight::unknown;
    stop_confirming();
    m_.crossing_time = step_.time;
    happen(opened_over ? NoticeKind::opened_over : NoticeKind::crossed, m_.told, so_far + 1 == rules_.per_day);
  }

  /// Over the pivot again before the watch was armed again. A price above the top leaves the range at once.
  void return_unarmed() {
    m_.side = Side::inside;
    if (step_.price <= levels_.range_top && m_.away) be_back();
  }

  void leave() {
    m_.side = Side::over;
    m_.away = true;
    happen(NoticeKind::left_range, follow_up_told(NoticeKind::left_range));
  }

  void come_back() {
    if (step_.price >= levels_.pivot) {
      m_.side = Side::inside;
      return be_back();
    }
    m_.side = Side::under;
    if (m_.never_inside) m_.armed = true;
  }

  void be_back() {
    m_.away = m_.never_inside = false;
    m_.following = true;
    happen(NoticeKind::back_inside, follow_up_told(NoticeKind::back_inside));
  }

  void fall() {
    const bool lost = m_.loss_pending && step_.price <= levels_.loss;
    if (step_.price <= levels_.slip) slip(lost);
    if (lost) {
      m_.loss_pending = false;
      happen(NoticeKind::loss_limit, true);
    }
    if (!m_.armed && step_.price <= levels_.rearm) {
      m_.armed = true;
      m_.side = Side::under;
    }
  }

  /// A price that reaches both at once is told once.
  void gain() {
    std::uint8_t reached = 0;
    for (std::size_t i = 0; i < levels_.gains.size(); ++i) {
      if (levels_.gains[i].is_set() && step_.price >= levels_.gains[i]) reached |= static_cast<std::uint8_t>(1U << i);
    }
    if ((reached & ~m_.gains_told) == 0) return;
    m_.gains_told |= reached;
    happen(NoticeKind::gain, true);
  }

  void slip(bool lost) {
    m_.side = Side::under;
    if (!m_.following) return;
    m_.following = false;
    m_.away = true;
    if (!lost) happen(NoticeKind::fell_under, follow_up_told(NoticeKind::fell_under));
  }

  WatchStand& m_;
  const Levels& levels_;
  const Rules& rules_;
  const Step& step_;
  SideEvents out_;
};

}  // namespace

SideEvents advance(WatchStand& stand, const Levels& levels, const Rules& rules, const Step& step) {
  return Stepper(stand, levels, rules, step).run();
}

Triggers triggers_of(const WatchMemory& m, const Levels& levels) {
  Triggers t;
  if (m.silent) return t;
  switch (m.side) {
    case Side::unknown:
      t.up = levels.pivot.micros;
      t.down = levels.pivot.micros - 1;
      break;
    case Side::under:
      t.up = levels.pivot.micros;
      if (m.confirm_trades > 0) t.down = levels.pivot.micros - 1;
      if (m.following) t.down = std::max(t.down, levels.slip.micros);
      break;
    case Side::inside:
      t.up = m.release ? levels.pivot.micros : levels.range_top.micros + 1;
      t.down = levels.slip.micros;
      break;
    case Side::over:
      t.down = std::max(levels.back.micros, levels.slip.micros);
      break;
  }
  if (!m.armed) t.down = std::max(t.down, levels.rearm.micros);
  if (m.loss_pending) t.down = std::max(t.down, levels.loss.micros);
  if (m.muted_under) t.down = std::max(t.down, levels.pivot.micros - 1);
  for (std::size_t i = 0; i < levels.gains.size(); ++i) {
    if (levels.gains[i].is_set() && (m.gains_told >> i & 1U) == 0) t.up = std::min(t.up, levels.gains[i].micros);
  }
  return t;
}

Timestamp confirmed_at(const WatchStand& stand, const Rules& rules) {
  if (stand.confirm_trades == 0 || stand.confirm_trades < rules.confirm_trades) return {};
  return stand.confirm_since + rules.confirm_seconds * kSecond;
}

void begin_day(WatchMemory& memory, Date day, const Rules& rules) {
  const bool waits_on = rules.second_day && memory.following && memory.weight_said != Weight::heavy;
  memory.day = day;
  memory.counts = {};
  memory.silent = memory.doubtful = false;
  memory.weight_said = waits_on && memory.told ? Weight::light : Weight::unknown;
  memory.confirm_trades = 0;
  memory.confirm_opened_over = false;
  memory.crossing_time = {};
  memory.withdrawn = 0;
}

bool is_change(const WatchStand& before, const WatchStand& after, const SideEvents& happened) {
  return happened.size > 0 || before.confirm_trades != after.confirm_trades || before.armed != after.armed;
}

bool is_of_a_price(NoticeKind kind) {
  switch (kind) {
    case NoticeKind::crossed:
    case NoticeKind::opened_over:
    case NoticeKind::left_range:
    case NoticeKind::back_inside:
    case NoticeKind::fell_under:
    case NoticeKind::loss_limit:
    case NoticeKind::gain:
      return true;
    case NoticeKind::volume_arrived:
    case NoticeKind::volume_faded:
    case NoticeKind::halted:
    case NoticeKind::resumed:
    case NoticeKind::feed_silent:
    case NoticeKind::feed_late:
    case NoticeKind::feed_back:
    case NoticeKind::corrected:
    case NoticeKind::day_end:
    case NoticeKind::self_check:
      break;
  }
  return false;
}

bool says_the_same(const WatchStand& a, const WatchStand& b) {
  for (std::size_t kind = 0; kind < a.counts.size(); ++kind) {
    if (is_of_a_price(static_cast<NoticeKind>(kind)) && a.counts[kind] != b.counts[kind]) return false;
  }
  return a.side == b.side && a.following == b.following && a.loss_pending == b.loss_pending;
}

std::uint16_t keep_what_stays(const WatchStand& before, WatchStand& now, bool is_held) {
  int back = 0;
  const auto crossings = [](const WatchStand& s) {
    return s.counts[static_cast<std::size_t>(NoticeKind::crossed)] +
           s.counts[static_cast<std::size_t>(NoticeKind::opened_over)];
  };
  for (std::size_t kind = 0; kind < now.counts.size(); ++kind) {
    if (!is_of_a_price(static_cast<NoticeKind>(kind))) now.counts[kind] = before.counts[kind];
    back = std::max(back, before.counts[kind] - now.counts[kind]);
  }
  const auto same = [&](NoticeKind kind) {
    return now.counts[static_cast<std::size_t>(kind)] == before.counts[static_cast<std::size_t>(kind)];
  };
  if (is_held && same(NoticeKind::loss_limit)) now.loss_pending = before.loss_pending;
  if (is_held && same(NoticeKind::gain)) now.gains_told = before.gains_told;
  if (crossings(now) == crossings(before)) {
    now.weight_said = before.weight_said;
    now.arrived_told = before.arrived_told;
    now.faded_told = before.faded_told;
    now.crossing_time = before.crossing_time;
    now.held = before.held;
  }
  return static_cast<std::uint16_t>(back);
}

}  // namespace brimwatch

#include "engine/sides.h"

#include <algorithm>

namespace brimwatch {
namespace {

/// One step of one watch.
class Stepper {
 public:
  Stepper(WatchMemory& memory, const Levels& levels, const Rules& rules, const Step& step)
      : m_(memory), levels_(levels), rules_(rules), step_(step), before_(memory) {}

  SideEvents run() {
    if (m_.side == Side::unknown || m_.side == Side::under) rise();
    if (m_.side == Side::inside && step_.price > levels_.range_top) leave();
    if (m_.side == Side::over && step_.price <= levels_.back) come_back();
    fall();
    if (out_.size > 0) remember_event();
    return out_;
  }

 private:
  void happen(NoticeKind kind, bool told) {
    auto& count = m_.counts[static_cast<std::size_t>(kind)];
    if (count < std::numeric_limits<std::uint16_t>::max()) ++count;
    out_.list[static_cast<std::size_t>(out_.size++)] = {kind, told, count, m_.side};
  }

  [[nodiscard]] std::uint16_t count(NoticeKind kind) const { return m_.counts[static_cast<std::size_t>(kind)]; }
  [[nodiscard]] bool follow_up_told(NoticeKind kind) const { return m_.told && count(kind) < rules_.per_day; }

  void rise() {
    if (step_.price < levels_.pivot) {
      m_.side = Side::under;
      m_.confirm_trades = 0;
      m_.confirm_opened_over = false;
      return;
    }
    const bool opens_over = step_.price > levels_.range_top && (step_.first_of_day || m_.side == Side::unknown);
    if (!m_.armed) {
      m_.side = step_.price > levels_.range_top ? Side::over : Side::inside;
    } else if (confirmed(opens_over)) {
      cross(m_.confirm_opened_over);
    }
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
    m_.side = opened_over ? Side::over : Side::inside;
    m_.armed = false;
    m_.following = true;
    m_.told = so_far < rules_.per_day;
    m_.loss_pending = true;
    m_.arrived_told = m_.faded_told = false;
    m_.weight_said = Weight::unknown;
    m_.confirm_trades = 0;
    m_.confirm_opened_over = false;
    m_.crossing_trade = step_.trade;
    m_.crossing_exchange = step_.exchange;
    m_.crossing_price = step_.price;
    m_.crossing_time = step_.time;
    happen(opened_over ? NoticeKind::opened_over : NoticeKind::crossed, m_.told);
  }

  void leave() {
    m_.side = Side::over;
    happen(NoticeKind::left_range, follow_up_told(NoticeKind::left_range));
  }

  void come_back() {
    m_.side = Side::inside;
    if (step_.price >= levels_.pivot) happen(NoticeKind::back_inside, follow_up_told(NoticeKind::back_inside));
  }

  void fall() {
    if (step_.price <= levels_.slip) {
      m_.side = Side::under;
      if (m_.following) {
        m_.following = false;
        happen(NoticeKind::fell_under, follow_up_told(NoticeKind::fell_under));
      }
    }
    if (m_.loss_pending && step_.price <= levels_.loss) {
      m_.loss_pending = false;
      happen(NoticeKind::loss_limit, true);
    }
    if (!m_.armed && step_.price <= levels_.rearm) {
      m_.armed = true;
      m_.side = Side::under;
    }
  }

  void remember_event() {
    m_.event_side = before_.side;
    m_.event_armed = before_.armed;
    m_.event_following = before_.following;
    m_.event_loss_pending = before_.loss_pending;
    m_.event_trade = step_.trade;
    m_.event_exchange = step_.exchange;
    m_.event_price = step_.price;
    m_.event_time = step_.time;
  }

  WatchMemory& m_;
  const Levels& levels_;
  const Rules& rules_;
  const Step& step_;
  struct Before {
    explicit Before(const WatchMemory& m)
        : side(m.side), armed(m.armed), following(m.following), loss_pending(m.loss_pending) {}
    Side side;
    bool armed, following, loss_pending;
  } before_;
  SideEvents out_;
};

Step crossing_of(const WatchMemory& m) {
  return {m.crossing_price, m.crossing_time, m.crossing_trade, m.crossing_exchange};
}
Step event_of(const WatchMemory& m) { return {m.event_price, m.event_time, m.event_trade, m.event_exchange}; }

}  // namespace

SideEvents advance(WatchMemory& memory, const Levels& levels, const Rules& rules, const Step& step) {
  return Stepper(memory, levels, rules, step).run();
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
      t.up = levels.range_top.micros + 1;
      t.down = levels.slip.micros;
      break;
    case Side::over:
      t.down = std::max(levels.back.micros, levels.slip.micros);
      break;
  }
  if (!m.armed) t.down = std::max(t.down, levels.rearm.micros);
  if (m.loss_pending) t.down = std::max(t.down, levels.loss.micros);
  return t;
}

void begin_day(WatchMemory& memory, Date day) {
  memory.day = day;
  memory.counts = {};
  memory.silent = false;
  memory.weight_said = Weight::unknown;
  memory.confirm_trades = 0;
  memory.confirm_opened_over = false;
  memory.crossing_time = memory.event_time = {};
}

bool is_same_trade(const Step& a, const Step& b) {
  if (a.trade == 0 || b.trade == 0) return a.price == b.price && a.time == b.time;
  return a.trade == b.trade && (a.exchange == b.exchange || a.exchange == 0 || b.exchange == 0);
}

bool take_back(WatchMemory& m, const Step& trade) {
  if (m.crossing_time.is_set() && is_same_trade(crossing_of(m), trade)) {
    m.side = Side::under;
    m.armed = true;
    m.following = m.told = m.loss_pending = false;
    m.weight_said = Weight::unknown;
    m.crossing_time = m.event_time = {};
    const int crossings = m.counts[static_cast<std::size_t>(NoticeKind::crossed)] +
                          m.counts[static_cast<std::size_t>(NoticeKind::opened_over)];
    if (crossings == 1) m.reached = {};  // after the first one it has been there all the same
    return true;
  }
  if (m.event_time.is_set() && is_same_trade(event_of(m), trade)) {
    m.side = m.event_side;
    m.armed = m.event_armed;
    m.following = m.event_following;
    m.loss_pending = m.event_loss_pending;
    m.event_time = {};
    return true;
  }
  return false;
}

}  // namespace brimwatch

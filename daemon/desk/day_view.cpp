#include "desk/day_view.h"

#include <cmath>
#include <unordered_set>

#include "core/text/json.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

constexpr Nanos kAfterClose = 10 * kMinute;  // the closing print comes late
constexpr double kUsualStep = 5;             // minutes between the points of the usual curve

const Session* session_at(const Calendar& calendar, Timestamp now) {
  const Session* session = calendar.of(now);
  return session != nullptr && session->open <= now && now < session->close + kAfterClose ? session : nullptr;
}

DayMinute point_of(const WatchView& view, double minute) {
  DayMinute point;
  point.minute = static_cast<float>(minute);
  point.price = static_cast<float>(view.last.as_double());
  point.volume = static_cast<float>(view.volume.so_far.as_double());
  if (view.volume.why_not == NoJudgement::none) {
    point.projected = static_cast<float>(view.volume.projected);
    point.low = static_cast<float>(view.volume.low);
    point.high = static_cast<float>(view.volume.high);
  }
  return point;
}

/// The usual share of the day by each minute, learned or the default.
std::vector<DayPicture::Point> usual_course(const Desk& desk, std::string_view symbol, double session_minutes) {
  const std::shared_ptr<const Learned> learned = desk.histories().learned(symbol);
  const Curve& curve = learned != nullptr && learned->days > 0 ? learned->curve : default_curve();
  std::vector<DayPicture::Point> out;
  for (double minute = 0; minute < session_minutes; minute += kUsualStep)
    out.push_back({minute, curve.at(minute * 390 / session_minutes)});
  out.push_back({session_minutes, 1});
  return out;
}

double usual_share(const Desk& desk, std::string_view symbol, const Session& session, Timestamp now) {
  const std::shared_ptr<const Learned> learned = desk.histories().learned(symbol);
  const Curve& curve = learned != nullptr && learned->days > 0 ? learned->curve : default_curve();
  return std::round(curve.at(session.elapsed(now) * 390 / session.minutes()) * 1e4) / 1e4;
}

/// The first watch of that symbol; npos when there is none.
std::size_t watch_of(const Desk& desk, std::string_view symbol) {
  const WatchList& watches = desk.settings().watches;
  for (std::size_t i = 0; i < watches.size(); ++i)
    if (watches.symbol(i) == symbol) return i;
  return std::string::npos;
}

struct DaySession {
  double minutes = 390, open_minute = 570;
};

DaySession describe(const Calendar& calendar, const Session& session) {
  const Nanos local = session.open.ns + calendar.offset(session.open).count() * kSecond;
  return {session.minutes(), static_cast<double>(local % kDayNanos) / static_cast<double>(kMinute)};
}

OrderedJson judged(const std::vector<DayMinute>& minutes, float DayMinute::*member) {
  auto out = OrderedJson::array();
  for (const DayMinute& one : minutes)
    out.push_back(one.projected > 0 ? OrderedJson(std::round(one.*member)) : OrderedJson());
  return out;
}

/// Mean of what the price changes from one minute to the next; null before there are enough of them to tell.
OrderedJson minute_move(const std::vector<DayMinute>& minutes) {
  constexpr std::size_t kEnough = 10;
  if (minutes.size() < kEnough) return nullptr;
  double sum = 0;
  for (std::size_t i = 1; i < minutes.size(); ++i)
    sum += std::abs(double{minutes[i].price} - double{minutes[i - 1].price});
  return std::round(sum / static_cast<double>(minutes.size() - 1) * 1e6) / 1e6;
}

double cents(float price) { return std::round(static_cast<double>(price) * 1e4) / 1e4; }

}  // namespace

void look_at_day(const Desk& desk, Timestamp now, DayBook& book) {
  const WatchList& watches = desk.settings().watches;
  if (!book.begins_minute(desk.main_calendar().local_date(now), now.ns / kMinute, watches.size())) return;
  std::unordered_set<std::string_view> seen;
  for (std::uint32_t i = 0; i < watches.size(); ++i) {
    if (!seen.insert(watches.symbol(i)).second) continue;
    const Session* session = session_at(desk.calendar(i), now);
    if (session == nullptr) continue;
    const WatchView view = desk.engine().view(i, now);
    if (view.last.is_set() && view.last_time >= session->open)
      book.add(watches.symbol(i), point_of(view, session->elapsed(now)));
  }
}

void note_in_day(const Desk& desk, const JournalBatch& batch, DayBook& book) {
  for (const NoticeRecord& record : batch.notices) {
    if (record.notice.symbol == kNoSymbol || record.notice.watch >= desk.settings().watches.size()) continue;
    const Session* session = session_at(desk.calendar(record.notice.watch), record.notice.time);
    if (session == nullptr || !record.notice.price.is_set()) continue;
    book.mark(record.symbol, {session->elapsed(record.notice.time), record.notice.price.as_double(),
                              std::string(to_string(record.notice.kind)) + " " +
                                  to_clock(record.notice.time, record.offset).substr(0, 5)});
  }
  for (const auto& hole : batch.holes) {
    const Session* session = desk.main_calendar().of(hole.from);
    if (session != nullptr) book.hole(session->elapsed(hole.from), session->elapsed(hole.to));
  }
}

DayPicture day_picture(const Desk& desk, const DayBook& book, const NoticeRecord& record) {
  DayPicture picture = picture_of(record);
  const Notice& notice = record.notice;
  if (notice.symbol == kNoSymbol || notice.watch >= desk.settings().watches.size() || notice.day != book.day())
    return picture;
  const Calendar& calendar = desk.calendar(notice.watch);
  const Session* session = calendar.of(notice.time);
  if (session == nullptr) return picture;
  const DaySession of_day = describe(calendar, *session);
  picture.session_minutes = of_day.minutes;
  picture.open_minute = of_day.open_minute;
  picture.now_minute = session->elapsed(notice.time);
  picture.usual = usual_course(desk, record.symbol, of_day.minutes);
  for (const DayMinute& point : book.minutes(record.symbol)) {
    if (point.minute >= picture.now_minute) break;
    picture.price.push_back({point.minute, point.price});
    picture.volume.push_back({point.minute, point.volume});
  }
  if (notice.price.is_set()) picture.price.push_back({picture.now_minute, notice.price.as_double()});
  picture.volume.push_back({picture.now_minute, notice.volume.so_far.as_double()});
  picture.holes = book.holes();
  for (DayPicture::Mark& mark : book.marks(record.symbol))
    if (mark.minute <= picture.now_minute) picture.marks.push_back(std::move(mark));
  return picture;
}

std::string days_json(const Desk& desk, const DayBook& book, Timestamp now) {
  constexpr std::size_t kPoints = 80;
  OrderedJson out{{"day", to_string(book.day())}, {"stocks", OrderedJson::object()}};
  const WatchList& watches = desk.settings().watches;
  for (std::uint32_t i = 0; i < watches.size(); ++i) {
    const std::string symbol(watches.symbol(i));
    if (out["stocks"].contains(symbol)) continue;
    const std::vector<DayMinute>& minutes = book.minutes(symbol);
    OrderedJson& stock = out["stocks"][symbol] =
        OrderedJson{{"minute", OrderedJson::array()}, {"price", OrderedJson::array()}};
    const std::size_t step = minutes.size() / kPoints + 1;
    for (std::size_t at = minutes.empty() ? 0 : (minutes.size() - 1) % step; at < minutes.size(); at += step) {
      stock["minute"].push_back(std::round(minutes[at].minute));
      stock["price"].push_back(cents(minutes[at].price));
    }
    stock["move"] = minute_move(minutes);
    const Session* session = desk.calendar(i).on(book.day());
    stock["usual"] = session == nullptr ? OrderedJson() : OrderedJson(usual_share(desk, symbol, *session, now));
  }
  return json_text(out);
}

std::string day_json(const Desk& desk, const DayBook& book, std::string_view symbol) {
  const std::size_t watch = watch_of(desk, symbol);
  if (watch == std::string::npos) return "{}";
  const Calendar& calendar = desk.calendar(static_cast<std::uint32_t>(watch));
  const Session* session = calendar.on(book.day());
  const DaySession of_day = session == nullptr ? DaySession() : describe(calendar, *session);
  const std::vector<DayMinute>& minutes = book.minutes(symbol);
  OrderedJson out{{"symbol", symbol},
                  {"day", to_string(book.day())},
                  {"session_minutes", of_day.minutes},
                  {"open_minute", of_day.open_minute}};
  for (const char* list : {"minute", "price", "volume"}) out[list] = OrderedJson::array();
  for (const DayMinute& one : minutes) {
    out["minute"].push_back(std::round(static_cast<double>(one.minute) * 100) / 100);
    out["price"].push_back(cents(one.price));
    out["volume"].push_back(std::round(one.volume));
  }
  out["projected"] = judged(minutes, &DayMinute::projected);
  out["low"] = judged(minutes, &DayMinute::low);
  out["high"] = judged(minutes, &DayMinute::high);
  out["usual"] = OrderedJson::array();
  for (const DayPicture::Point& point : usual_course(desk, symbol, of_day.minutes))
    out["usual"].push_back({point.minute, std::round(point.value * 1e5) / 1e5});
  out["holes"] = book.holes();
  out["marks"] = OrderedJson::array();
  for (const DayPicture::Mark& mark : book.marks(symbol))
    out["marks"].push_back({{"minute", mark.minute}, {"price", mark.price}, {"label", mark.label}});
  return json_text(out);
}

}  // namespace brimwatch

// What the engine and the house itself have to say: it goes to the journal, and from there to the channels.
#include <algorithm>
#include <utility>

#include "core/rehearsal_mark.h"
#include "live/feed_notices.h"
#include "live/heard_day.h"
#include "live/house.h"

namespace brimwatch {
namespace {

constexpr std::size_t kLatest = 50;
constexpr Nanos kCheckpoint = 5 * kSecond;

/// "channel works again; ..." with its name, which the notice has elsewhere.
std::string of_channel(const std::string& name, const std::string& detail) {
  constexpr std::string_view kChannel = "channel ";
  const bool named = !detail.starts_with(kChannel) || detail.starts_with(std::string(kChannel) + name);
  return named ? detail : "channel " + name + " " + detail.substr(kChannel.size());
}

}  // namespace

JournalBatch House::take_news() {
  JournalBatch batch = std::exchange(collector_.batch, {});
  if (is_rehearsal(desk_->settings())) std::for_each(batch.notices.begin(), batch.notices.end(), mark_as_rehearsal);
  for (const DayRecord& day : batch.days) lessons_.take(day);
  keep_heard_days(batch.days);
  holes_ += batch.holes.size();
  if (!batch.empty()) remember(batch);
  return batch;
}

bool House::has_news() const {
  const JournalBatch& batch = collector_.batch;
  return !batch.notices.empty() || !batch.days.empty() || !batch.holes.empty() || !batch.answers.empty();
}

void House::add_states(JournalBatch& batch, bool all) {
  Engine& engine = desk_->engine();
  if (today_ != Date{}) batch.day = today_;
  const Timestamp heard = feed_clock_.newest();
  if (std::exchange(knows_nothing_, false)) states_.add_unchanged_too(engine, batch, heard);
  else if (all) states_.add_all(engine, batch, heard);
  else if (!states_.add(engine, desk_->symbols(), batch, heard)) return;
  dirty_ = false;
  last_flush_ = world_.steady();
}

bool House::is_checkpoint_due() const { return dirty_ && world_.steady() - last_flush_ > kCheckpoint; }

void House::on_other_journal() {
  knows_nothing_ = true;
  const std::string detail =
      "the journal was moved away or replaced; another is in use from now on: it knows where each watch stands, earlier "
      "notices are in the old one";
  world_.say(LogLevel::warning, detail);
  collector_.batch.answers = answered_.book().standing();  // it is to make the same lists at the next start
  tell_self_check(detail);
}

/// Only days without a hole, at the size of the whole tape where the feed's part of it is known.
void House::keep_heard_days(const std::vector<DayRecord>& days) const {
  if (!world_.keep_days || is_rehearsal(desk_->settings()) || !desk_->settings().history.keep_days) return;
  std::vector<std::pair<std::string, DailyBar>> whole;
  for (const DayRecord& day : days)
    if (const auto bar = heard_day(day, desk_->histories().learned(day.symbol).get()))
      whole.emplace_back(day.symbol, *bar);
  if (!whole.empty()) world_.keep_days(std::move(whole));
}

/// What pictures and figures are made of later.
void House::remember(const JournalBatch& batch) {
  note_in_day(*desk_, batch, book_);
  for (const DayRecord& day : batch.days) errors_.take(day, book_);
  if (!world_.keep_picture) return;
  for (const NoticeRecord& record : batch.notices)
    if (record.notice.price.is_set()) to_draw_.push_back(record);
}

/// Nobody waits for a picture before its notice is told, but the journal's thread waits for the batch.
void House::draw() {
  for (const NoticeRecord& record : std::exchange(to_draw_, {}))
    world_.keep_picture(record.id, day_picture(*desk_, book_, record));
}

void House::on_delivery_rows(const std::vector<DeliveryRow>& rows) {
  for (const DeliveryRow& row : rows) {
    const auto known = sent_.find(row.notice_id);
    if (known == sent_.end()) continue;  // an older one, which no page shows
    std::vector<SentMark>& marks = known->second;
    const auto mark =
        std::find_if(marks.begin(), marks.end(), [&](const SentMark& one) { return one.channel == row.channel; });
    if (mark == marks.end()) marks.push_back({row.channel, to_string(row.state), row.reply});
    else *mark = {row.channel, to_string(row.state), row.reply};
  }
}

void House::show(const NoticeRecord& record) {
  latest_.push_front(record);
  sent_.try_emplace(record.id);
  if (latest_.size() <= kLatest) return;
  sent_.erase(latest_.back().id);
  latest_.pop_back();
}

void House::pump() {
  if (speaks_) out_.pump();
}

void House::tell(std::vector<NoticeRecord> notices) {
  if (!speaks_) return;  // of a disk that hangs: the keeper has them still
  for (const NoticeRecord& record : notices) {
    world_.say(LogLevel::info, record.id + ": " + record.title,
               {.notice = record.id, .kind = to_string(record.notice.kind), .symbol = record.symbol});
    ++by_kind_[static_cast<std::size_t>(record.notice.kind)];
    show(record);
  }
  notices_ += notices.size();
  out_.on_written(notices);
  pump();
}

void House::tell_about(const std::string& name, Notice notice) {
  collector_.batch.notices.push_back(own_.make(name, std::move(notice), world_.wall(), desk_->main_calendar()));
  keeping_.flush();
}

void House::tell_self_check(const std::string& detail) {
  if (!stage_.listens()) return;
  Notice notice;
  notice.kind = NoticeKind::self_check;
  notice.detail = detail;
  tell_about("", std::move(notice));
}

void House::warn(const std::string& detail) {
  world_.say(LogLevel::warning, detail);
  tell_self_check(detail);
}

void House::on_channel_report(const ChannelReport& report) {
  const Calendar& calendar = desk_->main_calendar();
  const Notice notice = notice_of(report, calendar.local_date(report.at), 1, calendar.offset(report.at));
  world_.say(report.works && !report.some ? LogLevel::info : LogLevel::warning, of_channel(report.channel, notice.detail),
             {.channel = report.channel});
  // One that some of its recipients refuse still reaches the others: they are told through it too. What was lost on the
  // way matters most to whoever looks there: it waits until the channel gets through.
  tell_about(report.some || report.lost ? "" : report.channel, notice);
}

void House::on_feed_event(const FeedEvent& event) {
  const std::string& name = in_.settings(event.feed).name;
  if (event.kind == FeedEvent::Kind::hole) {
    collector_.batch.holes.push_back(
        {name, std::string(desk_->symbols().name(event.symbol)), event.from, event.to, event.text});
    return;
  }
  const auto kind = notice_kind_of(event.kind);
  world_.say(
      kind == NoticeKind::feed_back || !kind ? LogLevel::info : LogLevel::warning, "feed " + name + ": " + event.text,
      {.feed = name, .symbol = event.symbol == kNoSymbol ? std::string_view() : desk_->symbols().name(event.symbol)});
  if (!kind) return;
  Notice notice;
  notice.kind = *kind;
  notice.detail = event.text;
  tell_about(name, std::move(notice));
}

/// A daemon that watches nothing says so: nobody would know why it is silent.
void House::tell_if_blind() {
  if (in_.size() == 0) warn("no feed is in force; nothing is seen, and nothing will be told of any price");
}

}  // namespace brimwatch

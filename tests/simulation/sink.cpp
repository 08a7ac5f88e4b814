#include "sink.h"

namespace brimwatch::simulation {
namespace {

constexpr Nanos kTimeout = 30 * kSecond;

}  // namespace

Sink::Sink(std::string name, VirtualTime& time, std::uint64_t seed, Tally& tally)
    : time_(time), name_(std::move(name)), dice_(seed, name_.c_str()), tally_(tally) {
  next_down_ = time_.truth() + dice_.wait(1);
}

Sink::Answer Sink::answer(const Message& message) {
  const Timestamp now = time_.truth();
  if (!faults_) return {20 * kMilli, {Outcome::delivered, "250 taken", {}}, true, false};
  if (now >= next_down_) {
    const bool long_one = dice_.chance(0.3);
    down_until_ = now + (long_one ? 6 * kHour : dice_.log_span(10 * kSecond, kHour));
    down_kind_ = static_cast<int>(dice_.below(4));
    next_down_ = down_until_ + dice_.wait(1);
    ++tally_[long_one ? "channel: away for six hours" : "channel: away for a while"];
    was_away_ = true;
  }
  if (now < down_until_) {
    if (down_kind_ == 0) return {5 * kMilli, {Outcome::retry, "421 closing in mid-transaction", {}}, false, false};
    if (down_kind_ == 1) return {kTimeout, {Outcome::retry, "no answer in time", {}}, false, false};
    if (down_kind_ == 2)
      return {50 * kMilli, {Outcome::retry, "503 busy", std::chrono::seconds(dice_.below(3000))}, false, false};
    return {2 * kMilli, {Outcome::retry, "connection refused", {}}, false, false};
  }
  const double fate = dice_.unit();
  if (fate < 0.03) {
    ++tally_["channel: 4xx, come again"];
    return {100 * kMilli, {Outcome::retry, "451 come again", {}}, false, false};
  }
  if (fate < 0.04) {
    ++tally_["channel: 5xx, refused for good"];
    for (const NoticeRecord& notice : message.notices) ++arrivals_[notice.id].refused;
    return {100 * kMilli, {Outcome::dead, "550 not like that", {}}, false, false};
  }
  if (fate < 0.07) {
    ++tally_["channel: drops after it has taken the message"];
    return {300 * kMilli, {Outcome::unknown, "the connection died after the final dot", {}}, true, false};
  }
  if (fate < 0.09) {
    ++tally_["channel: drops before it has taken the message"];
    return {300 * kMilli, {Outcome::unknown, "the connection died after the final dot", {}}, false, false};
  }
  if (fate < 0.10) {
    ++tally_["channel: hangs until the time limit"];
    return {kTimeout, {Outcome::unknown, "no answer in time", {}}, dice_.chance(0.5), false};
  }
  if (fate < 0.105) {
    ++tally_["channel: hangs far beyond the time limit"];
    return {dice_.log_span(kMinute, 40 * kMinute), {Outcome::retry, "at last an error", {}}, false, false};
  }
  return {dice_.log_span(10 * kMilli, 3 * kSecond), {Outcome::delivered, "250 taken", {}}, true, false};
}

void Sink::arrive(const Message& message) {
  if (message.id.find("/again-") != std::string::npos) return;
  for (const NoticeRecord& notice : message.notices) {
    Arrivals& one = arrivals_[notice.id];
    if (notice.text.find("another machine may tell this too") != std::string::npos) ++one.alone;
    if (one.times++ > 0) continue;
    one.first = time_.truth();
    one.order = order_++;
    if (on_arrival) on_arrival(*this, notice);
  }
}

void Sink::note_unsure(const Message& message) {
  for (const NoticeRecord& notice : message.notices) ++arrivals_[notice.id].unsure;
}

void Sink::forget() { arrivals_.clear(), was_away_ = false; }

/// The daemon died, or was set up anew, with a message in hand: it may be over there, or not.
SinkRunner::~SinkRunner() {
  if (in_hand_ == nullptr) return;
  sink_.note_unsure(in_hand_->send.message);
  if (in_hand_->answer.arrives) sink_.arrive(in_hand_->send.message);
}

bool SinkRunner::submit(Send send) {
  if (in_hand_ != nullptr) return false;
  if (sink_.on_message) sink_.on_message(sink_, send.message);
  Sink::Answer answer = sink_.answer(send.message);
  in_hand_ = std::make_shared<InHand>(InHand{std::move(send), std::move(answer)});
  time_.after(in_hand_->answer.after, [this, held = std::weak_ptr<InHand>(in_hand_)] {
    const auto mine = held.lock();
    if (mine == nullptr) return;
    in_hand_.reset();
    if (mine->answer.arrives) sink_.arrive(mine->send.message);
    if (mine->answer.delivery.outcome == Outcome::unknown) sink_.note_unsure(mine->send.message);
    if (done_) done_(mine->send.channel, mine->send.ticket, mine->answer.delivery);
  });
  return true;
}

/// Its thread is left behind when it hangs: what becomes of the message nobody hears.
bool SinkRunner::stop(std::chrono::milliseconds) { return in_hand_ == nullptr; }

}  // namespace brimwatch::simulation

#include "core/notice.h"

#include <array>

namespace brimwatch {
namespace {

constexpr std::array<std::string_view, kNoticeKinds> kKinds{
    "crossed",    "opened-over", "volume-arrived", "volume-faded", "left-range",  "back-inside",
    "fell-under", "loss-limit",  "halted",         "resumed",      "feed-silent", "feed-late",
    "feed-back",  "corrected",   "day-end",        "self-check",   "gain"};
constexpr std::array<std::string_view, 4> kSides{"unknown", "under", "inside", "over"};
constexpr std::array<std::string_view, 4> kWeights{"unknown", "light", "unsettled", "heavy"};
constexpr std::array<std::string_view, 4> kTrends{"unknown", "up", "mixed", "down"};

template <typename Enum, std::size_t N>
std::optional<Enum> find(const std::array<std::string_view, N>& words, std::string_view word) {
  for (std::size_t i = 0; i < N; ++i) {
    if (words[i] == word) return static_cast<Enum>(i);
  }
  return std::nullopt;
}

}  // namespace

std::string_view to_string(NoticeKind kind) { return kKinds[static_cast<std::size_t>(kind)]; }
std::string_view to_string(Side side) { return kSides[static_cast<std::size_t>(side)]; }
std::string_view to_string(Weight weight) { return kWeights[static_cast<std::size_t>(weight)]; }
std::string_view to_string(Trend trend) { return kTrends[static_cast<std::size_t>(trend)]; }
std::optional<NoticeKind> notice_kind_of(std::string_view word) { return find<NoticeKind>(kKinds, word); }
std::optional<Weight> weight_of(std::string_view word) { return find<Weight>(kWeights, word); }
std::optional<Trend> trend_of(std::string_view word) { return find<Trend>(kTrends, word); }

std::string notice_id(Date day, std::string_view symbol, Price pivot, NoticeKind kind, int count) {
  std::string id = to_string(day);
  id.append("/").append(symbol).append("/").append(to_string(pivot));
  id.append("/").append(to_string(kind)).append("/").append(std::to_string(count));
  return id;
}

namespace {
constexpr std::string_view kBought = "bought ";
}  // namespace

std::string bought_at(Price price) { return std::string(kBought) + to_string(price); }

Price bought_in(std::string_view detail) {
  if (!detail.starts_with(kBought)) return {};
  return parse_price(detail.substr(kBought.size())).value_or(Price{});
}

bool is_urgent(NoticeKind kind) {
  switch (kind) {
    case NoticeKind::crossed:
    case NoticeKind::opened_over:
    case NoticeKind::volume_arrived:
    case NoticeKind::volume_faded:
    case NoticeKind::left_range:
    case NoticeKind::back_inside:
    case NoticeKind::fell_under:
    case NoticeKind::loss_limit:
    case NoticeKind::halted:
    case NoticeKind::resumed:
    case NoticeKind::corrected:
    case NoticeKind::gain:
      return true;
    case NoticeKind::feed_silent:
    case NoticeKind::feed_late:
    case NoticeKind::feed_back:
    case NoticeKind::day_end:
    case NoticeKind::self_check:
      return false;
  }
  return false;
}

}  // namespace brimwatch

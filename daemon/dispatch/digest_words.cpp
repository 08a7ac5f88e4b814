#include "dispatch/digest_words.h"

#include <algorithm>
#include <string_view>

#include "core/text/text.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

constexpr std::size_t kKindsInTitle = 3, kNamesInTitle = 3;

using Notices = std::vector<const NoticeRecord*>;

/// Said after a number: "2 crossed", "1 left the range".
std::string_view counted(NoticeKind kind) {
  switch (kind) {
    case NoticeKind::crossed:
      return "crossed";
    case NoticeKind::opened_over:
      return "opened over";
    case NoticeKind::volume_arrived:
      return "volume arrived";
    case NoticeKind::volume_faded:
      return "volume faded";
    case NoticeKind::left_range:
      return "left the range";
    case NoticeKind::back_inside:
      return "back inside";
    case NoticeKind::fell_under:
      return "fell under";
    case NoticeKind::loss_limit:
      return "at the loss limit";
    case NoticeKind::halted:
      return "halted";
    case NoticeKind::resumed:
      return "resumed";
    case NoticeKind::feed_silent:
      return "feed silent";
    case NoticeKind::feed_late:
      return "feed late";
    case NoticeKind::feed_back:
      return "feed back";
    case NoticeKind::corrected:
      return "taken back";
    case NoticeKind::day_end:
      return "ended the day";
    case NoticeKind::self_check:
      return "self-check";
    case NoticeKind::gain:
      return "risen on your price";
  }
  return "other";
}

bool is_heavy(const NoticeRecord* record) { return record->notice.volume.weight == Weight::heavy; }

std::size_t count_of(const Notices& notices, NoticeKind kind) {
  return static_cast<std::size_t>(
      std::count_if(notices.begin(), notices.end(), [&](const auto* one) { return one->notice.kind == kind; }));
}

/// The kinds that are in it: urgent ones first, else in the order of the enumeration.
std::vector<NoticeKind> kinds_of(const Notices& notices) {
  std::vector<NoticeKind> kinds;
  for (int i = 0; i < kNoticeKinds; ++i) {
    const auto kind = static_cast<NoticeKind>(i);
    if (count_of(notices, kind) > 0) kinds.push_back(kind);
  }
  std::stable_sort(kinds.begin(), kinds.end(), [](NoticeKind a, NoticeKind b) { return is_urgent(a) && !is_urgent(b); });
  return kinds;
}

std::string kind_words(const Notices& notices, NoticeKind kind) {
  std::string text = std::to_string(count_of(notices, kind)) + " " + std::string(counted(kind));
  if (!is_pivot_crossing(kind)) return text;
  const auto heavy = std::count_if(notices.begin(), notices.end(),
                                   [&](const auto* one) { return one->notice.kind == kind && is_heavy(one); });
  return heavy == 0 ? text : text + " (" + std::to_string(heavy) + " heavy)";
}

std::string counts(const Notices& notices, std::size_t most) {
  std::string text;
  std::size_t said = 0, shown = 0;
  for (const NoticeKind kind : kinds_of(notices)) {
    if (shown++ == most) break;
    text += (text.empty() ? "" : ", ") + kind_words(notices, kind);
    said += count_of(notices, kind);
  }
  return said == notices.size() ? text : text + " and " + std::to_string(notices.size() - said) + " more";
}

/// ": KLVN, ORRI, TAMBU and 9 more": the first few different symbols as they stand.
std::string names(const Notices& notices, std::size_t most) {
  std::vector<std::string_view> found;
  for (const NoticeRecord* one : notices)
    if (std::find(found.begin(), found.end(), one->symbol) == found.end()) found.push_back(one->symbol);
  std::string text;
  const std::size_t shown = std::min(found.size(), most);
  for (std::size_t i = 0; i < shown; ++i) text.append(i == 0 ? ": " : ", ").append(clean_line(found[i], 24));
  if (found.size() > shown && shown > 0) text += " and " + std::to_string(found.size() - shown) + " more";
  return text;
}

std::string days_end(const Notices& notices) {
  const auto inside =
      std::count_if(notices.begin(), notices.end(), [](const auto* one) { return one->notice.side == Side::inside; });
  return "Day's end: " + std::to_string(notices.size()) + (notices.size() == 1 ? " watch, " : " watches, ") +
         (inside == 0 ? "none" : std::to_string(inside)) + " inside";
}

}  // namespace

std::string digest_title(const Notices& notices) {
  if (count_of(notices, NoticeKind::day_end) == notices.size()) return days_end(notices);
  for (std::size_t kinds = kKindsInTitle; kinds > 0; --kinds) {
    const std::string what = counts(notices, kinds);
    for (std::size_t most = kNamesInTitle + 1; most > 0; --most) {
      std::string title = what + names(notices, most - 1);
      if (length_of(title) <= kTitleMost) return title;
    }
  }
  return clean_line(counts(notices, 1), kTitleMost);
}

}  // namespace brimwatch

#pragma once
// The one interface of a channel. A channel sends one message and says what became of it; when to send, how often to try
// again and when to give up is the dispatcher's business.
//
// send() may block up to the channel's own time limit: each channel has a thread of its own.
#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/notice.h"

namespace brimwatch {

/// A link by which a person can answer, for channels whose text can carry one.
struct MessageLink {
  std::string words, url;
};

struct InlinePicture {
  std::string name;  ///< letters, digits, '-': "cid:NAME" in Message::html refers to it
  std::vector<std::uint8_t> png;
};

/// What goes out: one notice, or several in a digest (then `notices` has more than one and title and text speak for all).
struct Message {
  std::vector<NoticeRecord> notices;
  std::string id;  ///< the same on every attempt: the notice's id, or the digest's
  std::string title;
  std::string text;
  int attempt = 1;
  std::vector<std::string> taken_by;           ///< recipients that already have it from an earlier attempt or run
  std::optional<std::chrono::seconds> late;    ///< set when it goes out later than it should; the text says so already
  std::vector<std::uint8_t> picture_png;       ///< the day's picture, may be empty; to the channel's own size
  std::vector<std::uint8_t> picture_dark_png;  ///< the same for a dark ground, where the channel can show either
  std::string html;                     ///< a page of its own, for channels that show one; empty: the channel's words
  std::vector<InlinePicture> pictures;  ///< of that page
  std::vector<MessageLink> links{};     ///< may be empty
};

enum class Outcome : std::uint8_t {
  delivered,
  retry,    ///< it did not arrive, but may on another attempt
  dead,     ///< it will never arrive as it is: refused for good
  unknown,  ///< it may have arrived: the connection died after the message was given over
};

struct Delivery {
  Outcome outcome = Outcome::retry;
  std::string reply;                                ///< the other side's own words, one line, no secrets
  std::optional<std::chrono::seconds> retry_after;  ///< when the other side says how long to wait
  bool taken_by_some = false;                       ///< with dead: some of the recipients have it, the others never will
};

class Channel {
 public:
  virtual ~Channel() = default;
  [[nodiscard]] virtual Delivery send(const Message& message) = 0;
};

}  // namespace brimwatch

#pragma once
// One frame of JSON -> its messages, one after the other, as values by slot. Pure; the parser's types stay in the .cpp.
//
// A frame is one message, an array of them, or holds them at one or several places; where it says so, an object with a
// message a member, or lists of fields that stand side by side (columns).
#include <memory>
#include <string>
#include <string_view>

#include "adapters/feeds/decoding/message.h"

namespace brimwatch {

class MessageSink {
 public:
  virtual ~MessageSink() = default;
  /// `usual`: what the message is where no rule and no word tells. The views live as long as the call.
  virtual void on_message(const MessageValues& values, MessageKind usual) = 0;
  /// There is something that cannot be split into messages where messages should be.
  virtual void on_unreadable(std::string_view what) = 0;
};

class FrameWalker {
 public:
  explicit FrameWalker(const Mapping& mapping);  ///< which must outlive it
  ~FrameWalker();
  FrameWalker(const FrameWalker&) = delete;
  FrameWalker& operator=(const FrameWalker&) = delete;

  /// False when the frame's structure is broken: then discard what the sink was given; fault() says why.
  /// `event`: the name of the server-sent event that it came in.
  [[nodiscard]] bool walk(std::string_view text, std::string_view event, MessageSink& sink);
  [[nodiscard]] const std::string& fault() const;

 private:
  struct Body;
  std::unique_ptr<Body> body_;
};

}  // namespace brimwatch

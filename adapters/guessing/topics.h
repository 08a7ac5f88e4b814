#pragma once
// Texts that hold a symbol among other words, as names of channels and topics do: "trades.KLVN", "md/eq/KLVN/last". Which
// part is the symbol is told by what is left over: few words, each with many symbols. Pure.
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "adapters/guessing/record.h"

namespace brimwatch {

inline constexpr std::string_view kTopicSeparators = ".:/@|-_#";

struct TopicParts {
  std::string before, symbol, after;
};

/// Where in such texts the symbol stands.
struct TopicForm {
  char separator = '.';
  std::size_t front = 0, back = 0;  ///< parts before it, or behind it
  enum class Counts : std::uint8_t {
    both,        ///< all between the two is the symbol
    from_front,  ///< one part is
    from_back,
  } counts = Counts::both;

  [[nodiscard]] std::optional<TopicParts> parts(const std::string& text) const;
};

/// Texts with how often each came. Nothing where they are no such texts.
[[nodiscard]] std::optional<TopicForm> find_topic_form(const std::map<std::string, std::size_t>& texts);

/// The forms at all pointers of a sample.
class Topics {
 public:
  explicit Topics(const std::vector<Record>& records);

  [[nodiscard]] bool has(const std::string& pointer) const { return forms_.count(pointer) != 0; }
  [[nodiscard]] std::optional<TopicParts> parts(const std::string& pointer, const Leaf& leaf) const;

 private:
  std::map<std::string, TopicForm> forms_;
};

/// "*.{symbol}" and the like for the texts' parts, as a mapping reads them; nothing where no such form reads all.
[[nodiscard]] std::optional<std::string> symbol_form_of(const std::vector<TopicParts>& all);

}  // namespace brimwatch

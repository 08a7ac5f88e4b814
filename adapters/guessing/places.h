#pragma once
// Where in the frames of an unknown source the messages stand, and the messages themselves. Pure.
#include <string>
#include <vector>

#include "adapters/guessing/record.h"
#include "core/text/json.h"

namespace brimwatch {

struct GuessedPlace {
  enum class Form : std::uint8_t {
    single,   ///< one message
    array,    ///< a list of them
    members,  ///< an object with a message a member, named by its symbol
    columns,  ///< a list a field
  } form = Form::single;
  std::string pointer;  ///< empty: the frame itself

  bool operator==(const GuessedPlace&) const = default;
};

struct ParsedFrame {
  OrderedJson json;
  std::string event;  ///< name of a server-sent event
};

struct FoundPlaces {
  std::vector<GuessedPlace> places;  ///< the first is that of frames in which no other is found
  std::vector<Record> records;       ///< in the order of the sample; of a long one the first thousands are enough
};

/// The messages of one frame at a place that is known.
[[nodiscard]] std::vector<Record> messages_at(const ParsedFrame& frame, const GuessedPlace& place);

/// What the source calls the places of its lists, and the name that this stands under ("trade"), if any.
struct PlaceNames {
  std::string before;
  std::vector<std::string> names;
};

/// Lists of at least three names somewhere in a frame, or a first line of names. Empty where there is none.
[[nodiscard]] std::vector<PlaceNames> names_of_places(const std::vector<ParsedFrame>& frames);

/// `frames_too`: a frame may be a message itself, where others hold some further in.
[[nodiscard]] FoundPlaces find_places(const std::vector<ParsedFrame>& frames, bool frames_too = true);

}  // namespace brimwatch

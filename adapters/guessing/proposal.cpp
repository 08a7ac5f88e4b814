#include "adapters/guessing/proposal.h"

#include <algorithm>
#include <cmath>

#include "adapters/feeds/decoding/decoder.h"
#include "adapters/feeds/decoding/excerpt.h"
#include "adapters/guessing/entries.h"
#include "adapters/guessing/layout.h"
#include "adapters/guessing/names.h"
#include "adapters/guessing/units.h"

namespace brimwatch {
namespace {

constexpr Timestamp kReceipt{Date::of(2026, 1, 1).days * kDayNanos};  // the decoder wants one; nothing depends on it

/// A time that no format reads is named, so that the person need not look for it.
std::string why_no_time(const std::vector<Record>& records, const SortGuess& sort) {
  std::vector<const Record*> of_sort;
  for (const std::size_t i : sort.sort.records) of_sort.push_back(&records[i]);
  const std::string left_out = "; it is left out, and a message counts from when it comes";
  const Table table = table_of(of_sort);
  for (const PointerColumn& column : table.columns) {
    const bool named = name_speaks_for(Field::time, column.name) >= 0.8;
    if (column.clock || (column.maybe_clock && named))
      return column.pointer + " says a time of day without its date, which no time_format reads" + left_out;
    if (named && !column.is_constant() && (column.numeric < 0.9 || column.rising > 0.9))
      return column.pointer + " is named like a time, but no time_format reads it" + left_out;
  }
  return "nothing in the messages of kind " + std::string(kind_word(sort.kind)) + " can be told to be it";
}

void ask_for_missing(const std::vector<Record>& records, Proposal& proposal) {
  const SortGuess* main = sort_of(proposal.sorts, main_kind(proposal.sorts));
  if (main == nullptr) {
    proposal.asked.emplace_back("fields: no message of the sample has a symbol and a price; which message is a trade?");
    return;
  }
  const std::string kind(kind_word(main->kind));
  for (const Field field : {Field::symbol, Field::price, Field::size, Field::time}) {
    const bool day_size = field == Field::size && (main->kind == MessageKind::day || main->kind == MessageKind::quote);
    const bool no_price = field == Field::price && main->kind == MessageKind::quote;
    if (main->fields.count(field) == 0 && !day_size && !no_price) {
      proposal.asked.push_back("fields." + field_name(field) + ": " +
                               (field == Field::time
                                    ? why_no_time(records, *main)
                                    : "nothing in the messages of kind " + kind + " can be told to be it"));
    }
  }
  for (const auto& [field, guess] : main->fields) {
    const bool matters = field == Field::price || field == Field::size || field == Field::symbol ||
                         field == Field::time || field == Field::day_volume;
    if (matters && guess.sure != Sure::sure)
      proposal.asked.push_back("fields." + field_name(field) + ": is it " + guess.pointer + "? " + guess.why);
  }
}

/// The key that says what a sort of messages is.
std::string key_of(const SortGuess& guess, const Sorts& sorts) {
  const bool topic = sorts.kind_pointer.find('\x01') != std::string::npos;
  const bool apart = !guess.sort.second.empty() || !guess.at.empty();
  return guess.sort.word.empty() || apart || topic ? "rules" : "kind_words." + guess.sort.word;
}

/// Once for each word; sorts without one are told by an example.
void ask_for_kinds(const Sorts& sorts, Proposal& proposal) {
  for (std::size_t i = 0; i < proposal.sorts.size(); ++i) {
    const SortGuess& guess = proposal.sorts[i];
    const std::string key = key_of(guess, sorts) + ": ", example = proposal.examples[i].substr(0, 60);
    std::string question;
    if (!guess.question.empty())
      question = key + guess.question + (key == "rules: " ? " (a message like " + example + ")" : "");
    else if (guess.sure == Sure::asked && guess.sort.word.empty())
      question = "rules: what is a message like " + example + "?";
    else if (guess.sure == Sure::asked)
      question = "kind_words." + guess.sort.word + ": " + guess.why + "; it is passed over";
    if (question.empty()) continue;
    if (std::find(proposal.asked.begin(), proposal.asked.end(), question) == proposal.asked.end())
      proposal.asked.push_back(question);
  }
}

/// What a message should come to, by the guesses: its price as the decoder reads it.
std::optional<double> guessed_price(const Record& record, const SortGuess& guess) {
  const auto field = guess.fields.find(guess.kind == MessageKind::quote ? Field::bid : Field::price);
  const Leaf* leaf = field == guess.fields.end() ? nullptr : record.find(field->second.pointer);
  return leaf == nullptr ? std::nullopt : number_in(leaf->text);
}

bool same_price(double guessed, Price price, int decimals) {
  const double scaled = guessed / std::pow(10, decimals);
  return std::abs(scaled - price.as_double()) <= 1e-6 * std::max(1.0, scaled);
}

/// Each message of the kinds that become ticks, against the tick that the decoder made of it.
class Comparison {
 public:
  Comparison(const FoundPlaces& places, const Proposal& proposal) : places_(places), proposal_(proposal) {
    of_record_.resize(places.records.size(), nullptr);
    for (const SortGuess& guess : proposal.sorts) {
      for (const std::size_t i : guess.sort.records) of_record_[i] = &guess;
    }
  }

  std::size_t different(const Sample& sample, const ReadSample& read) {
    SymbolTable symbols;
    auto decoder = Decoder::make(proposal_.settings, symbols);
    if (!decoder) return places_.records.size();
    std::size_t wrong = 0, at = 0;
    for (std::size_t frame = 0; frame < read.frames.size() && at < places_.records.size(); ++frame) {
      Decoded decoded;
      decoder->decode(sample.frames[read.numbers[frame]], kReceipt, decoded);
      std::vector<std::size_t> expected;
      for (; at < places_.records.size() && places_.records[at].frame == frame; ++at) {
        if (of_record_[at] != nullptr && is_tick(of_record_[at]->kind)) expected.push_back(at);
      }
      wrong += compare(decoded.ticks, expected);
    }
    return wrong;
  }

 private:
  static bool is_tick(MessageKind kind) { return is_market(kind) && kind != MessageKind::naming; }

  std::size_t compare(const std::vector<Tick>& ticks, const std::vector<std::size_t>& expected) const {
    if (ticks.size() != expected.size())
      return std::max(ticks.size(), expected.size()) - std::min(ticks.size(), expected.size());
    std::size_t wrong = 0;
    for (std::size_t i = 0; i < ticks.size(); ++i) {
      const SortGuess& guess = *of_record_[expected[i]];
      const auto price = guessed_price(places_.records[expected[i]], guess);
      const Price got = guess.kind == MessageKind::quote ? ticks[i].bid : ticks[i].price;
      const bool same = static_cast<std::size_t>(ticks[i].kind) == static_cast<std::size_t>(guess.kind);
      wrong += !same || (price && !same_price(*price, got, proposal_.settings.price_decimals));
    }
    return wrong;
  }

  const FoundPlaces& places_;
  const Proposal& proposal_;
  std::vector<const SortGuess*> of_record_;
};

void take_examples(const Sample& sample, const ReadSample& read, const FoundPlaces& places, Proposal& proposal) {
  for (const SortGuess& guess : proposal.sorts) {
    const std::size_t frame = places.records[guess.sort.records.front()].frame;
    const std::string& bytes = sample.frames[read.numbers[frame]];
    proposal.examples.push_back(read.packing == "none" && read.encoding != "msgpack"
                                    ? excerpt(bytes, 160)
                                    : excerpt(read.frames[frame].json.dump(), 160));
  }
}

/// Frames that hold no messages further in were taken for messages themselves, and are none.
bool only_answers_are_frames(const FoundPlaces& places, const std::vector<SortGuess>& guesses) {
  if (places.places.size() < 2 || !(places.places.front() == GuessedPlace{})) return false;
  return std::none_of(guesses.begin(), guesses.end(), [&](const SortGuess& guess) {
    return is_market(guess.is) && places.records[guess.sort.records.front()].place == 0;
  });
}

void describe_wrapping(const Sample& sample, const ReadSample& read, Proposal& proposal) {
  FeedSettings& settings = proposal.settings;
  settings.name = "mapped";
  settings.kind = sample.events ? "events" : "stream";
  settings.packing = read.packing;
  settings.encoding = read.encoding;
  if (read.packing != "none")
    proposal.keys.push_back({"packing", read.packing, Sure::sure, "the first bytes of each frame say so"});
  if (read.encoding != "json")
    proposal.keys.push_back({"encoding", read.encoding, Sure::sure, "the frames are read so, and are no JSON"});
}

}  // namespace

double Trial::understood() const {
  const std::size_t all = messages + broken;
  const std::size_t good = ticks + ignored;
  return all == 0 ? 0 : static_cast<double>(good - std::min(good, otherwise)) / static_cast<double>(all);
}

Trial try_mapping(const FeedSettings& settings, const Sample& sample) {
  Trial out;
  SymbolTable symbols;
  auto decoder = Decoder::make(settings, symbols);
  if (!decoder) {
    out.problem = decoder.error().text;
    return out;
  }
  Decoded decoded;
  for (const std::string& frame : sample.frames) {
    decoded.clear();
    decoder->decode(frame, kReceipt, decoded);
  }
  const DecodeCounts& counts = decoder->counts();
  out.messages = counts.messages;
  out.ticks = counts.ticks;
  out.ignored = counts.ignored;
  out.unknown = counts.unknown;
  out.malformed = counts.malformed;
  out.broken = counts.frames_broken;
  out.problem = decoder->last_problem();
  for (const auto& row : decoder->unknown_codes().rows()) out.unknown_conditions.push_back(row.code);
  return out;
}

Result<Proposal> propose(const Sample& sample) {
  if (sample.frames.empty()) return fail("the sample is empty; expected messages of the source, one a line");
  const ReadSample read = read_sample(sample);
  if (read.frames.empty()) return fail("no frame of the sample can be read: " + read.problem);
  const std::vector<PlaceNames> names = names_of_places(read.frames);
  FoundPlaces places = find_places(read.frames);
  Sorts sorts = part_into_sorts(places.records);
  Proposal proposal;
  describe_wrapping(sample, read, proposal);
  proposal.sorts = guess_kinds(places.records, sorts, names);
  if (only_answers_are_frames(places, proposal.sorts)) {
    places = find_places(read.frames, false);
    sorts = part_into_sorts(places.records);
    proposal.sorts = guess_kinds(places.records, sorts, names);
  }
  lay_out(places, sorts, proposal.sorts, proposal.settings);
  find_units(places.records, proposal);
  take_examples(sample, read, places, proposal);
  ask_for_missing(places.records, proposal);
  ask_for_kinds(sorts, proposal);
  for (const std::string& question : doubt_first_entries(places.records, proposal.sorts))
    proposal.asked.push_back(question);
  const SortGuess* main = sort_of(proposal.sorts, main_kind(proposal.sorts));
  proposal.usable = main != nullptr && !proposal.settings.fields.symbol.empty();
  proposal.trial.broken = read.unreadable;
  proposal.trial.problem = read.problem;
  if (!proposal.usable) return proposal;
  proposal.trial = try_mapping(proposal.settings, sample);
  proposal.trial.otherwise = Comparison(places, proposal).different(sample, read);
  return proposal;
}

}  // namespace brimwatch

#include "adapters/guessing/sorts.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "adapters/guessing/names.h"
#include "adapters/guessing/shape_of_value.h"
#include "adapters/guessing/topics.h"

namespace brimwatch {
namespace {

constexpr std::size_t kWordsMost = 14, kCodesMost = 3, kWordLongest = 80;
constexpr double kAlike = 0.6;
const std::string kHead = kTopicHead, kTail = kTopicTail;
constexpr std::string_view kFrame = "frame:";

using Signature = std::set<std::string>;

constexpr std::string_view kParts = ".:/@|#_-";

bool has_small_letters(std::string_view text) {
  return std::any_of(text.begin(), text.end(), [](char c) { return c >= 'a' && c <= 'z'; });
}

/// "minute_bar" is one word; "trade_KLVN" is two things.
bool parts_a_topic(char divider, std::string_view symbol) {
  return (divider != '_' && divider != '-') || !has_small_letters(symbol);
}

/// Of "trade.KLVN" the part before the symbol, with what parts them.
std::string topic_head(const Leaf& leaf) {
  if (leaf.kind != Leaf::Kind::text || !looks_like_symbol(leaf.text)) return {};
  const std::size_t at = leaf.text.find_first_of(kParts);
  if (at == leaf.text.npos || at == 0 || at + 1 == leaf.text.size()) return {};
  if (!parts_a_topic(leaf.text[at], std::string_view(leaf.text).substr(at + 1))) return {};
  return kind_of_word(leaf.text.substr(0, at)) ? leaf.text.substr(0, at + 1) : std::string();
}

/// Of "KLVN@trade" the part behind it.
std::string topic_tail(const Leaf& leaf) {
  if (leaf.kind != Leaf::Kind::text || !looks_like_symbol(leaf.text)) return {};
  const std::size_t at = leaf.text.find_last_of(kParts);
  if (at == leaf.text.npos || at == 0 || at + 2 >= leaf.text.size()) return {};
  if (!parts_a_topic(leaf.text[at], std::string_view(leaf.text).substr(0, at))) return {};
  return kind_of_word(leaf.text.substr(at + 1)) ? leaf.text.substr(at) : std::string();
}

/// "trade.KLVN": as a whole it is the word of one symbol only.
bool has_ticker(const Leaf& leaf) {
  const std::string head = topic_head(leaf), tail = topic_tail(leaf);
  if (head.empty() && tail.empty()) return false;
  const std::string rest =
      head.empty() ? leaf.text.substr(0, leaf.text.size() - tail.size()) : leaf.text.substr(head.size());
  return !has_small_letters(rest);
}

/// The parts of a text that tell a kind, beside its symbol: by the form that all texts at its pointer have, else by words
/// of the trade.
class TopicReader {
 public:
  explicit TopicReader(const std::vector<Record>& records) : topics_(records) {}

  [[nodiscard]] std::string head(const std::string& pointer, const Leaf& leaf) const {
    if (!topics_.has(pointer)) return topic_head(leaf);
    const auto parts = topics_.parts(pointer, leaf);
    return parts ? parts->before : std::string();
  }
  [[nodiscard]] std::string tail(const std::string& pointer, const Leaf& leaf) const {
    if (!topics_.has(pointer)) return topic_tail(leaf);
    const auto parts = topics_.parts(pointer, leaf);
    return parts ? parts->after : std::string();
  }
  [[nodiscard]] bool has_symbol(const std::string& pointer, const Leaf& leaf) const {
    return topics_.has(pointer) ? topics_.parts(pointer, leaf).has_value() : has_ticker(leaf);
  }

 private:
  Topics topics_;
};

char kind_letter(const Leaf& leaf) {
  if (leaf.kind == Leaf::Kind::list) return 'l';
  if (leaf.kind == Leaf::Kind::truth) return 'b';
  if (leaf.kind == Leaf::Kind::nothing) return '0';
  return number_in(leaf.text) ? 'n' : 't';
}

/// How many values a message has that is a list of them; 0 for others.
std::size_t length_of_list(const Record& record) {
  std::size_t out = 0;
  for (const auto& [pointer, leaf] : record.leaves) {
    const bool place = pointer.size() > 1 &&
                       std::all_of(pointer.begin() + 1, pointer.end(), [](char c) { return c >= '0' && c <= '9'; });
    out += place && pointer[0] == '/';
  }
  return out;
}

/// A longer list with numbers in it is a row of values, not a list of codes.
bool is_row(const Leaf& leaf) {
  return leaf.kind == Leaf::Kind::list && leaf.items.size() > kCodesMost &&
         std::any_of(leaf.items.begin(), leaf.items.end(),
                     [](const std::string& item) { return number_in(item).has_value(); });
}

/// Which values a message has. Entries of lists count as one, and what stands around the messages not at all; but a list
/// that is the whole message, or is nested in it, is told by its places.
Signature signature_of(const Record& record) {
  Signature out{"place " + std::to_string(record.place)};
  if (const std::size_t length = length_of_list(record); length > 0) {  // it tells more than one value does
    out.insert("length " + std::to_string(length));
    out.insert("of list " + std::to_string(length));
  }
  std::set<std::string> lists;
  const bool bare = std::all_of(record.leaves.begin(), record.leaves.end(),
                                [](const auto& leaf) { return leaf.first.starts_with("frame:"); });
  for (const auto& [pointer, leaf] : record.leaves) {
    if ((pointer.starts_with("frame:") && !bare) || leaf.kind == Leaf::Kind::nothing) continue;
    if (leaf.kind == Leaf::Kind::list && leaf.items.size() <= kCodesMost) lists.insert(pointer + "/");
    if (is_row(leaf)) {
      out.insert("length of " + pointer + " " + std::to_string(leaf.items.size()));
      out.insert("row of " + pointer + " by " + std::to_string(leaf.items.size()));
      out.insert("row at " + pointer + " of " + std::to_string(leaf.items.size()));
    }
    const bool entry =
        std::any_of(lists.begin(), lists.end(), [&, &where = pointer](const auto& l) { return where.starts_with(l); });
    if (!entry) out.insert(pointer + kind_letter(leaf));
  }
  return out;
}

double likeness(const Signature& a, const Signature& b) {
  std::size_t common = 0;
  for (const std::string& part : a) common += b.count(part);
  return static_cast<double>(common) / static_cast<double>(a.size() + b.size() - common);
}

/// Messages by what values they have: those of nearly the same go together.
std::vector<std::size_t> shapes_of(const std::vector<Record>& records) {
  std::map<Signature, std::size_t> counts;
  std::vector<Signature> signatures;
  for (const Record& record : records) ++counts[signatures.emplace_back(signature_of(record))];
  std::vector<std::pair<std::size_t, Signature>> ordered;
  ordered.reserve(counts.size());
  for (const auto& [signature, count] : counts) ordered.emplace_back(count, signature);
  std::stable_sort(ordered.begin(), ordered.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<Signature> heads;
  std::map<Signature, std::size_t> shape;
  for (const auto& [count, signature] : ordered) {
    std::size_t best = heads.size();
    double most = kAlike;
    for (std::size_t i = 0; i < heads.size(); ++i) {
      if (const double like = likeness(heads[i], signature); like >= most) best = i, most = like;
    }
    if (best == heads.size()) heads.push_back(signature);
    shape[signature] = best;
  }
  std::vector<std::size_t> out;
  out.reserve(signatures.size());
  for (const Signature& signature : signatures) out.push_back(shape[signature]);
  return out;
}

double entropy(const std::map<std::string, std::size_t>& counts, std::size_t all) {
  double out = 0;
  for (const auto& [value, count] : counts) {
    const double part = static_cast<double>(count) / static_cast<double>(all);
    out -= part * std::log2(part);
  }
  return out;
}

struct Split {
  double gain = 0;   ///< how much of the shapes the values tell, 0 to 1
  double noise = 0;  ///< how much the values vary inside one shape, in bits
};

Split split_by(const std::vector<std::string>& values, const std::vector<std::size_t>& shapes) {
  std::map<std::string, std::size_t> of_value, of_shape, of_both;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const std::string shape = std::to_string(shapes[i]);
    ++of_value[values[i]];
    ++of_shape[shape];
    ++of_both[values[i] + "\x1F" + shape];
  }
  const double value = entropy(of_value, values.size()), shape = entropy(of_shape, values.size()),
               both = entropy(of_both, values.size());
  return {shape > 0 ? (value + shape - both) / shape : 0, both - shape};
}

/// What stands around the messages of some frames stands in others at the top: a whole frame is read as if around itself.
class Around {
 public:
  explicit Around(const std::vector<Record>& records) {
    for (const Record& record : records) {
      for (const auto& [pointer, leaf] : record.leaves) {
        if (pointer.starts_with(kFrame)) pointers_.insert(pointer);
      }
    }
  }

  [[nodiscard]] std::string pointer_of(const Record& record, const std::string& pointer) const {
    if (pointers_.empty() || !pointer.starts_with('/') || !is_whole(record)) return pointer;
    const std::string around = std::string(kFrame) + pointer;
    return pointers_.count(around) != 0 ? around : pointer;
  }

 private:
  static bool is_whole(const Record& record) {
    return std::none_of(record.leaves.begin(), record.leaves.end(),
                        [](const auto& leaf) { return leaf.first.starts_with(kFrame); });
  }

  std::set<std::string> pointers_;
};

struct Candidate {
  std::string pointer;
  std::vector<std::string> values;
  std::set<std::string> words;
  std::size_t given = 0;
  bool numbers = true;
};

void add_value(std::vector<Candidate>& out, std::map<std::string, std::size_t>& places, const std::string& pointer,
               const std::string& value, std::size_t row, std::size_t rows) {
  const auto [place, fresh] = places.try_emplace(pointer, out.size());
  if (fresh) out.push_back({pointer, std::vector<std::string>(rows), {}, 0, true});
  Candidate& candidate = out[place->second];
  candidate.values[row] = value;
  if (candidate.words.size() <= kWordsMost) candidate.words.insert(value);
  candidate.numbers = candidate.numbers && number_in(value).has_value();
  ++candidate.given;
}

/// A price is no word; "org.example.trade.cancelled" is one.
bool number_with_point(const std::string& text) {
  return text.find('.') != std::string::npos && number_in(text).has_value();
}

bool may_tell(const Leaf& leaf) {
  return (leaf.kind == Leaf::Kind::text || leaf.kind == Leaf::Kind::number || leaf.kind == Leaf::Kind::truth) &&
         leaf.text.size() <= kWordLongest && !number_with_point(leaf.text);
}

std::vector<Candidate> candidates_in(const std::vector<Record>& records, const TopicReader& topics,
                                     const std::vector<std::size_t>& which) {
  std::map<std::string, std::size_t> places;
  std::vector<Candidate> out;
  std::set<std::string> bad;
  const Around around(records);
  for (std::size_t row = 0; row < which.size(); ++row) {
    std::string codes;  // where the entries of the list in hand begin, when it is one of codes
    for (const auto& [own, leaf] : records[which[row]].leaves) {
      if (leaf.kind == Leaf::Kind::list) codes = leaf.items.size() <= kCodesMost ? own + "/" : "";
      if (leaf.kind == Leaf::Kind::nothing || (!codes.empty() && own.starts_with(codes))) continue;
      const std::string pointer = around.pointer_of(records[which[row]], own);
      if (const std::string head = topics.head(own, leaf); !head.empty())
        add_value(out, places, pointer + kHead, head, row, which.size());
      if (const std::string tail = topics.tail(own, leaf); !tail.empty())
        add_value(out, places, pointer + kTail, tail, row, which.size());
      if (pointer == "key" || !may_tell(leaf) || topics.has_symbol(own, leaf)) bad.insert(pointer);
      else add_value(out, places, pointer, leaf.text, row, which.size());
    }
  }
  const auto has_fewer_heads = [&](const Candidate& c) {
    return std::any_of(out.begin(), out.end(), [&](const Candidate& other) {
      return (other.pointer == c.pointer + kHead || other.pointer == c.pointer + kTail) &&
             other.words.size() < c.words.size() && 10 * other.given >= 9 * c.given;
    });
  };
  for (const Candidate& candidate : out) {
    if (has_fewer_heads(candidate)) bad.insert(candidate.pointer);
  }
  std::erase_if(out, [&](const Candidate& c) { return bad.count(c.pointer) != 0 || c.words.size() > kWordsMost; });
  return out;
}

double known_words(const Candidate& candidate) {
  std::size_t known = 0;
  for (const std::string& word : candidate.words) known += kind_of_word(word).has_value();
  return static_cast<double>(known) / static_cast<double>(candidate.words.size());
}

/// Words that stand for one message each are names or texts, not kinds; few messages are no proof.
bool repeats(const Candidate& candidate) {
  return candidate.words.size() * 2 <= candidate.given + 1 || candidate.words.size() <= 2;
}

double worth(const Candidate& candidate, const std::vector<std::size_t>& shapes, std::size_t rows) {
  const double known = known_words(candidate), name = name_speaks_for_kind(candidate.pointer);
  if (!repeats(candidate) && (known < 0.4 || name < 0.7)) return 0;
  if (candidate.numbers && name < 0.7 && candidate.words.size() > 6) return 0;
  const Split split = split_by(candidate.values, shapes);
  const double there = static_cast<double>(candidate.given) / static_cast<double>(rows);
  double out = 1.3 * split.gain + 0.9 * known + 0.5 * name - 0.9 * std::min(split.noise, 1.5) * (1 - known * 0.8);
  if (candidate.words.size() == 1 && (known < 1 || name < 0.7)) out -= 0.8;
  if (candidate.numbers && name < 0.7) out -= 0.3;
  if (candidate.pointer.find('\x01') != std::string::npos) out -= 0.05;
  return out * std::min(1.0, there + 0.15);
}

constexpr double kWorthIt = 0.95;

/// The pointer whose words tell the sorts best; empty when none does.
std::string best_teller(const std::vector<Record>& records, const TopicReader& topics,
                        const std::vector<std::size_t>& which, const std::vector<std::size_t>& shapes,
                        const std::string& but) {
  std::string best;
  double most = kWorthIt;
  for (const Candidate& candidate : candidates_in(records, topics, which)) {
    if (candidate.pointer == but) continue;
    const double value = worth(candidate, shapes, which.size());
    if (value > most) best = candidate.pointer, most = value;
  }
  return best;
}

bool has_number(const Record& record) {
  return std::any_of(record.leaves.begin(), record.leaves.end(), [](const auto& leaf) {
    return leaf.second.kind != Leaf::Kind::truth && leaf.second.kind != Leaf::Kind::list && number_in(leaf.second.text);
  });
}

std::string text_at(const Record& record, const TopicReader& topics, const std::string& pointer) {
  const bool head = pointer.ends_with(kHead), tail = pointer.ends_with(kTail);
  const std::string place = head || tail ? pointer.substr(0, pointer.size() - kHead.size()) : pointer;
  const Leaf* leaf = pointer.empty() ? nullptr : record.find(place);
  if (leaf == nullptr && place.starts_with(kFrame)) leaf = record.find(std::string_view(place).substr(kFrame.size()));
  if (leaf != nullptr && head) return topics.head(place, *leaf);
  if (leaf != nullptr && tail) return topics.tail(place, *leaf);
  return leaf == nullptr || leaf->kind == Leaf::Kind::nothing ? std::string() : leaf->text;
}

/// A word that holds messages of several shapes may have a second word beside it which tells those.
std::string second_teller(const std::vector<Record>& records, const TopicReader& topics,
                          const std::vector<std::size_t>& shapes, const std::string& first) {
  std::map<std::string, std::vector<std::size_t>> by_word;
  for (std::size_t i = 0; i < records.size(); ++i) {
    if (has_number(records[i])) by_word[text_at(records[i], topics, first)].push_back(i);
  }
  for (const auto& [word, which] : by_word) {
    std::vector<std::size_t> inside;
    for (const std::size_t i : which) inside.push_back(shapes[i]);
    if (std::set<std::size_t>(inside.begin(), inside.end()).size() < 2) continue;
    std::string second = best_teller(records, topics, which, inside, first);
    if (!second.empty()) return second;
  }
  return {};
}

bool takes_back(const std::string& word, const std::string& pointer) {
  constexpr std::size_t kLetter = 2;  // an "x" may say anything
  const bool flag = word == "true";
  const auto kind = flag                    ? kind_of_word(pointer.substr(pointer.rfind('/') + 1))
                    : word.size() > kLetter ? kind_of_word(word)
                                            : std::nullopt;
  return kind == MessageKind::cancel || kind == MessageKind::correct;
}

/// What is taken back may look like a trade in all but one word ("new", "delete"), or a flag.
std::string verb_teller(const std::vector<Record>& records, const TopicReader& topics, const std::string& first) {
  constexpr std::size_t kVerbsMost = 6;
  std::vector<std::size_t> which;
  for (std::size_t i = 0; i < records.size(); ++i) {
    const bool said = !first.empty() && takes_back(text_at(records[i], topics, first), first);
    if (has_number(records[i]) && !said) which.push_back(i);
  }
  for (const Candidate& candidate : candidates_in(records, topics, which)) {
    const bool few =
        candidate.words.size() > 1 && candidate.words.size() <= kVerbsMost && 2 * candidate.given >= which.size();
    const auto back = std::count_if(candidate.words.begin(), candidate.words.end(),
                                    [&](const std::string& word) { return takes_back(word, candidate.pointer); });
    if (candidate.pointer != first && few && back > 0 && static_cast<std::size_t>(back) < candidate.words.size())
      return candidate.pointer;
  }
  return {};
}

}  // namespace

Sorts part_into_sorts(const std::vector<Record>& records) {
  const std::vector<std::size_t> shapes = shapes_of(records);
  std::vector<std::size_t> all(records.size());
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = i;
  const TopicReader topics(records);
  Sorts out;
  out.kind_pointer = best_teller(records, topics, all, shapes, {});
  if (!out.kind_pointer.empty()) out.second_pointer = second_teller(records, topics, shapes, out.kind_pointer);
  if (out.second_pointer.empty()) {
    const std::string verb = verb_teller(records, topics, out.kind_pointer);
    (out.kind_pointer.empty() ? out.kind_pointer : out.second_pointer) = verb;
  }
  std::map<std::string, std::size_t> places;
  for (std::size_t i = 0; i < records.size(); ++i) {
    const std::string word = text_at(records[i], topics, out.kind_pointer),
                      second = text_at(records[i], topics, out.second_pointer);
    std::string key = word;
    key.append("\x1F").append(second).append("\x1F").append(std::to_string(shapes[i]));
    const auto [place, fresh] = places.try_emplace(key, out.sorts.size());
    if (fresh) out.sorts.push_back({{}, word, second});
    out.sorts[place->second].records.push_back(i);
  }
  std::stable_sort(out.sorts.begin(), out.sorts.end(),
                   [](const Sort& a, const Sort& b) { return a.records.size() > b.records.size(); });
  return out;
}

}  // namespace brimwatch

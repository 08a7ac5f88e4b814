#include "commands/feeds/heard.h"

#include <algorithm>
#include <array>
#include <cstdio>

#include "adapters/feeds/template.h"
#include "adapters/guessing/fields.h"
#include "adapters/guessing/kinds.h"
#include "adapters/guessing/layout.h"
#include "adapters/guessing/sample.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::size_t kDelaysMost = 200'000;
constexpr std::array kTickKinds{MessageKind::trade,  MessageKind::quote, MessageKind::cancel, MessageKind::correct,
                                MessageKind::status, MessageKind::bar,   MessageKind::day};

std::string shares_text(Shares shares) { return format_micros(shares.micros, 0); }

std::string status_word(TradingStatus status) {
  constexpr const char* kWords[] = {"none", "trading", "halted", "paused", "quotation"};
  return kWords[static_cast<std::size_t>(status)];
}

/// What the tick has in the place of a field.
std::string became(Field field, const Tick& tick, const SymbolTable& symbols) {
  const bool bar = tick.kind == TickKind::bar;
  switch (field) {
    case Field::symbol:
      return std::string(symbols.name(tick.symbol));
    case Field::price:
      return to_string(tick.price);
    case Field::size:
      return shares_text(tick.size) + " shares";
    case Field::time:
      return to_rfc3339(tick.time);
    case Field::conditions:
      return tick.conditions.view().empty() ? "none" : "\"" + std::string(tick.conditions.view()) + "\"";
    case Field::odd_lot:
      return tick.conditions.view().find('I') == std::string_view::npos ? "no odd lot" : "an odd lot";
    case Field::exchange:
      return tick.exchange == 0 ? "nothing" : std::string(1, tick.exchange);
    case Field::id:
      return std::to_string(tick.id);
    case Field::day_volume:
      return shares_text(tick.day_volume) + " shares";
    case Field::bid:
      return to_string(tick.bid);
    case Field::ask:
      return to_string(tick.ask);
    case Field::bid_size:
      return shares_text(tick.bid_size) + " shares";
    case Field::ask_size:
      return shares_text(tick.ask_size) + " shares";
    case Field::status:
      return status_word(tick.status);
    case Field::low:
      return bar ? to_string(tick.bid) : "";
    case Field::high:
      return bar ? to_string(tick.ask) : "";
    case Field::old_price:
      return to_string(tick.bid);
    case Field::old_size:
      return shares_text(tick.bid_size) + " shares";
    default:
      return "";
  }
}

std::string leaf_text(const Leaf& leaf) {
  if (leaf.kind != Leaf::Kind::list) return leaf.text;
  std::string out = "[";
  for (const std::string& item : leaf.items) out += (out.size() > 1 ? "," : "") + item;
  return out + "]";
}

/// The pointer of a field in messages of a kind.
std::string pointer_for(const FeedSettings& settings, MessageKind kind, Field field) {
  FieldMap common = settings.fields;
  const auto own = settings.fields_of.find(std::string(kind_word(kind)));
  if (own != settings.fields_of.end()) {
    FieldMap map = own->second;
    if (const std::string& pointer = pointer_in(map, field); !pointer.empty()) return pointer;
  }
  return pointer_in(common, field);
}

/// Where messages stand by the mapping, so that the values of one can be shown.
GuessedPlace place_for(const FeedSettings& settings, MessageKind kind) {
  GuessedPlace place;
  place.pointer = settings.fields.messages;
  const auto own = settings.fields_of.find(std::string(kind_word(kind)));
  if (own != settings.fields_of.end() && !own->second.messages.empty()) place.pointer = own->second.messages;
  place.form = settings.columns                                      ? GuessedPlace::Form::columns
               : pointer_for(settings, kind, Field::symbol) == "key" ? GuessedPlace::Form::members
                                                                     : GuessedPlace::Form::array;
  return place;
}

std::vector<std::string> values_of_tick(const FeedSettings& settings, const Tick& tick, const SymbolTable& symbols,
                                        std::string_view frame, std::size_t number) {
  const MessageKind kind = kTickKinds[std::min<std::size_t>(static_cast<std::size_t>(tick.kind), kTickKinds.size() - 1)];
  Sample sample;
  sample.events = settings.kind == "events";
  sample.frames.emplace_back(frame);
  const ReadSample read = read_sample(sample);
  const auto records =
      read.frames.empty() ? std::vector<Record>() : messages_at(read.frames.front(), place_for(settings, kind));
  const Record* record = number < records.size() ? &records[number] : nullptr;
  std::vector<std::string> out;
  std::vector<Field> fields{Field::symbol};
  fields.insert(fields.end(), fields_for(kind).begin(), fields_for(kind).end());
  for (const Field field : fields) {
    const std::string pointer = pointer_for(settings, kind, field);
    if (pointer.empty()) continue;
    const Leaf* leaf = record == nullptr ? nullptr : record->find(pointer);
    char name[48];
    std::snprintf(name, sizeof name, "%-11s %-16s ", field_name(field).c_str(), pointer.c_str());
    const std::string value =
        leaf == nullptr ? "absent" : clean_line(leaf_text(*leaf), 40) + " -> " + became(field, tick, symbols);
    out.push_back(name + value);
  }
  return out;
}

}  // namespace

Heard::Heard(const FeedSettings& settings, std::unique_ptr<SymbolTable> symbols, Decoder decoder,
             const std::vector<std::string>& asked, std::string secret)
    : settings_(settings),
      symbols_(std::move(symbols)),
      decoder_(std::move(decoder)),
      secret_(std::move(secret)),
      asked_(asked.begin(), asked.end()) {}

Result<Heard> Heard::make(const FeedSettings& settings, const std::vector<std::string>& asked, std::string secret) {
  auto symbols = std::make_unique<SymbolTable>();
  auto decoder = Decoder::make(settings, *symbols);
  if (!decoder) return tl::unexpected(decoder.error());
  if (!asked.empty()) decoder->want(asked);
  return Heard(settings, std::move(symbols), std::move(*decoder), asked, std::move(secret));
}

HeardSort& Heard::sort(const std::string& name, std::string_view frame) {
  const auto found = std::find_if(sorts_.begin(), sorts_.end(), [&](const HeardSort& one) { return one.name == name; });
  if (found != sorts_.end()) return *found;
  HeardSort fresh;
  fresh.name = name;
  fresh.example = excerpt(without_secret(std::string(frame), secret_), 300);
  return sorts_.emplace_back(std::move(fresh));
}

void Heard::take_tick(const Tick& tick, std::string_view frame, std::size_t number) {
  const std::size_t kind = static_cast<std::size_t>(tick.kind);
  if (kind >= kTickKinds.size()) return;
  ++ticks_;
  heard_.insert(std::string(symbols_->name(tick.symbol)));
  if (delays_.size() < kDelaysMost) delays_.push_back(static_cast<double>(tick.received - tick.time) / 1e9);
  HeardSort& heard = sort(std::string(kind_word(kTickKinds[kind])), frame);
  if (heard.messages++ > 0) return;
  for (std::string& value : values_of_tick(settings_, tick, *symbols_, frame, number))
    heard.values.push_back(without_secret(std::move(value), secret_));
}

void Heard::take(std::string_view frame, Timestamp received) {
  ++frames_;
  const DecodeCounts before = decoder_.counts();
  Decoded decoded;
  decoder_.decode(frame, received, decoded);
  const DecodeCounts after = decoder_.counts();
  const auto add = [&](const char* name, std::uint64_t count) {
    if (count == 0) return;
    HeardSort& heard = sort(name, frame);
    heard.messages += count;
    if (heard.why.empty() && std::string_view(name) == "not readable")
      heard.why = without_secret(decoder_.last_problem(), secret_);
  };
  for (std::size_t i = 0; i < decoded.ticks.size(); ++i) take_tick(decoded.ticks[i], frame, i);
  add("passed over", after.ignored - before.ignored);
  add("of unknown kind", after.unknown - before.unknown);
  add("of symbols not asked for", after.unwatched - before.unwatched);
  add("not readable", after.malformed - before.malformed + after.frames_broken - before.frames_broken);
}

std::uint64_t Heard::unreadable() const { return decoder_.counts().malformed + decoder_.counts().frames_broken; }

std::vector<std::string> Heard::silent_symbols() const {
  std::vector<std::string> out;
  std::set_difference(asked_.begin(), asked_.end(), heard_.begin(), heard_.end(), std::back_inserter(out));
  return out;
}

std::vector<double> Heard::delays() const {
  if (delays_.empty()) return {};
  std::vector<double> sorted = delays_;
  std::sort(sorted.begin(), sorted.end());
  return {sorted[sorted.size() / 2], sorted.back()};
}

}  // namespace brimwatch

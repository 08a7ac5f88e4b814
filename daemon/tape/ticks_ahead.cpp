#include "tape/ticks_ahead.h"

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "tape/filled_ahead.h"

namespace brimwatch {
namespace {

constexpr std::size_t kBatch = 1024;  ///< ticks; all slots together stay within a core's second-level cache
constexpr std::size_t kSlots = 8;

struct Batch {
  std::vector<Tick> room = std::vector<Tick>(kBatch);
  std::size_t count = 0;
  std::vector<std::string> names;  ///< symbols that were not met before, in the order of the reader's ids
  std::optional<Error> failure;
};

class Ahead final : public TicksAhead {
 public:
  explicit Ahead(SymbolTable& symbols) : symbols_(symbols) {
    for (SymbolId id = 0; id < symbols.size(); ++id) ids_.push_back(theirs_.intern(symbols.name(id)));
    told_ = theirs_.size();
  }

  Status start(OpenedBytes bytes, const TapeOptions& options) {
    const auto helper = std::make_shared<Helper>();
    auto reader = TapeReader::open(std::move(bytes), theirs_, options, helper);
    if (!reader) return tl::unexpected<Error>(reader.error());
    reader_ = std::move(*reader);
    ahead_.emplace(helper, [this](Batch& batch) { return fill(batch); });
    return {};
  }

  Result<std::span<const Tick>> next() override {
    Batch& batch = ahead_->next();
    if (batch.failure) return tl::unexpected<Error>(*batch.failure);
    learn(batch);
    const std::span<Tick> ticks = std::span(batch.room).first(batch.count);
    if (!same_ids_) {
      for (Tick& tick : ticks) {
        if (tick.symbol != kNoSymbol) tick.symbol = ids_[tick.symbol];
      }
    }
    return ticks;
  }

  [[nodiscard]] const TapeStats& stats() const override { return reader_->stats(); }

 private:
  /// On one thread at a time. The last batch is the empty one, or that of an error.
  bool fill(Batch& batch) {
    batch.count = 0;
    batch.names.clear();
    while (kBatch - batch.count >= TapeReader::kBatch) {  // each time as many as the reader would give by itself
      const auto more = reader_->next(std::span(batch.room).subspan(batch.count));
      if (!more) {
        // What came before the error is handed out first: the reader stays at its end, and says the error only once.
        failure_ = more.error();
        break;
      }
      if (*more == 0) break;
      batch.count += *more;
    }
    for (; told_ < theirs_.size(); ++told_) batch.names.emplace_back(theirs_.name(static_cast<SymbolId>(told_)));
    if (batch.count == 0) batch.failure = failure_;
    return batch.count > 0;
  }

  /// The caller's table gets the new names. It gives them the reader's ids as long as nobody else adds names meanwhile.
  void learn(Batch& batch) {
    for (const std::string& name : batch.names) {
      const SymbolId ours = symbols_.intern(name);
      same_ids_ = same_ids_ && ours == ids_.size();
      ids_.push_back(ours);
    }
    batch.names.clear();  // the last batch is handed out again and again
  }

  SymbolTable& symbols_;
  std::vector<SymbolId> ids_;  ///< the caller's, by the reader's
  bool same_ids_ = true;

  SymbolTable theirs_;  ///< from here on for whoever fills
  std::size_t told_ = 0;
  std::optional<Error> failure_;
  std::unique_ptr<TapeReader> reader_;
  std::optional<FilledAhead<Batch, kSlots>> ahead_;  // last: the helper uses all of the reader's
};

}  // namespace

Result<std::unique_ptr<TicksAhead>> TicksAhead::open(OpenedBytes bytes, SymbolTable& symbols,
                                                     const TapeOptions& options) {
  auto ahead = std::make_unique<Ahead>(symbols);
  if (const auto started = ahead->start(std::move(bytes), options); !started)
    return tl::unexpected<Error>(started.error());
  return ahead;
}

}  // namespace brimwatch

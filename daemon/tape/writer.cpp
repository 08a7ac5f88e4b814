#include "tape/writer.h"

#include "tape/row_text.h"

namespace brimwatch {
namespace {

constexpr std::size_t kRows = 64 * 1024;  ///< bytes handed to the packer at a time

}  // namespace

Result<std::unique_ptr<TapeWriter>> TapeWriter::create(const std::string& path, PackedFile::Packing packing) {
  auto file = PackedFile::create(path, packing);
  if (!file) return tl::unexpected<Error>(file.error());
  std::unique_ptr<TapeWriter> writer(new TapeWriter(std::move(*file)));
  writer->rows_ = kRecordingHeader;
  if (const auto flushed = writer->flush(); !flushed) return tl::unexpected<Error>(flushed.error());
  return writer;
}

Status TapeWriter::write(const Tick& tick, std::string_view symbol) {
  append_row(rows_, tick, symbol);
  return rows_.size() < kRows ? Status() : hand_on();
}

Status TapeWriter::hand_on() {
  const Status done = file_->append(rows_);
  rows_.clear();
  return done;
}

Status TapeWriter::flush() {
  const Status done = hand_on();
  return done ? file_->flush() : done;
}

Status TapeWriter::close() {
  const Status done = hand_on();
  return done ? file_->close() : done;
}

}  // namespace brimwatch

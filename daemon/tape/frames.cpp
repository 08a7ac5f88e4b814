#include "tape/frames.h"

#include <zlib.h>

#include <algorithm>
#include <cstring>
#include <utility>

namespace brimwatch {
namespace {

constexpr std::uint32_t kVersion = 2;
constexpr std::size_t kFileHead = kFrameFileMagic.size() + 4;
constexpr std::size_t kRecordHead = 8;
constexpr std::size_t kLeastBody = 10, kKindAt = 8;
constexpr std::size_t kGapBody = 16;
constexpr std::size_t kReadAtOnce = 64 * 1024;

template <typename Number>
void put(std::string& out, Number number) {
  for (std::size_t i = 0; i < sizeof number; ++i)
    out += static_cast<char>(static_cast<std::uint64_t>(number) >> (8 * i) & 0xFF);
}

template <typename Number>
Number get(std::string_view bytes, std::size_t at) {
  std::uint64_t number = 0;
  for (std::size_t i = 0; i < sizeof(Number); ++i) {
    number |= static_cast<std::uint64_t>(static_cast<unsigned char>(bytes[at + i])) << (8 * i);
  }
  return static_cast<Number>(number);
}

std::uint32_t checksum(std::string_view body) {
  return static_cast<std::uint32_t>(
      ::crc32_z(0, reinterpret_cast<const Bytef*>(body.data()), static_cast<z_size_t>(body.size())));
}

/// Empty when the body is not one.
std::optional<Frame> parse(std::string_view body) {
  Frame frame;
  frame.received = Timestamp{get<std::int64_t>(body, 0)};
  const auto kind = static_cast<unsigned char>(body[kKindAt]);
  const std::size_t name = static_cast<unsigned char>(body[9]);
  if (kind > 2 || kLeastBody + name > body.size()) return std::nullopt;
  frame.feed = body.substr(kLeastBody, name);
  const std::string_view rest = body.substr(kLeastBody + name);
  if (kind == 0) {
    frame.bytes = rest;
    return frame;
  }
  if (kind == 2) {
    if (rest.empty() || static_cast<unsigned char>(rest[0]) > 1) return std::nullopt;
    frame.kind = Frame::Kind::connection;
    frame.up = rest[0] == 1;
    frame.bytes = rest.substr(1);
    return frame;
  }
  if (rest.size() != kGapBody) return std::nullopt;
  frame.kind = Frame::Kind::gap;
  frame.gap_from = Timestamp{get<std::int64_t>(rest, 0)};
  frame.dropped = get<std::uint64_t>(rest, 8);
  return frame;
}

}  // namespace

bool is_frame_body(std::string_view body) { return body.size() >= kLeastBody && body[kKindAt] == 0; }

void append_frame_body(std::string& out, const Frame& frame) {
  const std::string_view feed = frame.feed.substr(0, 255);
  put(out, frame.received.ns);
  out += static_cast<char>(frame.kind);
  out += static_cast<char>(feed.size());
  out += feed;
  switch (frame.kind) {
    case Frame::Kind::bytes:
      out += frame.bytes;
      break;
    case Frame::Kind::gap:
      put(out, frame.gap_from.ns);
      put(out, frame.dropped);
      break;
    case Frame::Kind::connection:
      out += frame.up ? '\1' : '\0';
      out += frame.bytes;
      break;
  }
}

Result<std::unique_ptr<FrameWriter>> FrameWriter::create(const std::string& path) {
  auto file = PackedFile::create(path, PackedFile::Packing::zstd);
  if (!file) return tl::unexpected<Error>(file.error());
  std::unique_ptr<FrameWriter> writer(new FrameWriter(std::move(*file)));
  std::string head(kFrameFileMagic);
  put(head, kVersion);
  Status written = writer->file_->append(head);
  if (written) written = writer->flush();
  if (!written) return tl::unexpected<Error>(written.error());
  return writer;
}

Status FrameWriter::write(const Frame& frame) {
  body_.clear();
  append_frame_body(body_, frame);
  return write_body(body_);
}

Status FrameWriter::write_body(std::string_view body) {
  if (body.size() > kLongestFrame)
    return fail("a frame of " + std::to_string(body.size()) + " bytes, expected at most 16 MiB");
  std::string head;
  put(head, static_cast<std::uint32_t>(body.size()));
  put(head, checksum(body));
  const Status written = file_->append(head);
  return written ? file_->append(body) : written;
}

Result<std::unique_ptr<FrameReader>> FrameReader::open(const std::string& path) {
  auto bytes = open_bytes(path);
  if (!bytes) return tl::unexpected<Error>(bytes.error());
  return open(std::move(*bytes));
}

Result<std::unique_ptr<FrameReader>> FrameReader::open(OpenedBytes bytes) {
  if (bytes.kind != RecordingKind::frames)
    return fail(bytes.name + ": found no recorded frames, expected a file that the recorder wrote");
  std::unique_ptr<FrameReader> reader(new FrameReader(std::move(bytes)));
  if (const auto head = reader->header(); !head) return tl::unexpected<Error>(head.error());
  return reader;
}

/// Sees to it that `count` bytes stand in the buffer; false when the file ends before.
Result<bool> FrameReader::have(std::size_t count) {
  while (buffer_.size() - at_ < count && !ended_) {
    buffer_.erase(0, std::exchange(at_, 0));
    const std::size_t used = buffer_.size();
    buffer_.resize(used + kReadAtOnce);
    const auto got = bytes_->read(std::span<char>(buffer_).subspan(used));
    buffer_.resize(used + got.value_or(0));
    if (!got) return tl::unexpected<Error>(got.error());
    ended_ = *got == 0;
  }
  return buffer_.size() - at_ >= count;
}

Status FrameReader::header() {
  const auto whole = have(kFileHead);
  if (!whole) return tl::unexpected<Error>(whole.error());
  if (!*whole) return fail(name_ + ": found a file cut off in its first bytes, expected recorded frames");
  const auto version = get<std::uint32_t>(buffer_, kFrameFileMagic.size());
  if (version == 0 || version > kVersion) {
    return fail(name_ + ": found version " + std::to_string(version) + " of the file of frames, expected version 1 or 2");
  }
  at_ = read_ = kFileHead;
  return {};
}

tl::unexpected<Error> FrameReader::damaged(const std::string& what) const {
  return fail(name_ + ": found " + what + " " + std::to_string(read_) +
              " bytes into the file of frames; what came before was read");
}

Result<std::optional<Frame>> FrameReader::next() {
  const auto head = have(kRecordHead);
  if (!head) return tl::unexpected<Error>(head.error());
  if (!*head) {
    torn_ = bytes_->torn() || at_ < buffer_.size();
    return std::nullopt;
  }
  const std::string_view text = std::string_view(buffer_).substr(at_);
  const auto length = get<std::uint32_t>(text, 0), sum = get<std::uint32_t>(text, 4);
  if (length < kLeastBody || length > kLongestFrame) return damaged("a record of " + std::to_string(length) + " bytes");
  const auto body = have(kRecordHead + length);
  if (!body) return tl::unexpected<Error>(body.error());
  if (!*body) {
    torn_ = true;
    return std::nullopt;
  }
  const std::string_view bytes = std::string_view(buffer_).substr(at_ + kRecordHead, length);
  if (checksum(bytes) != sum) return damaged("a wrong checksum");
  const auto frame = parse(bytes);
  if (!frame) return damaged("a record of no known kind");
  at_ += kRecordHead + length;
  read_ += kRecordHead + length;
  ++frames_;
  return frame;
}

}  // namespace brimwatch

#pragma once
// The receiving half of permessage-deflate (RFC 7692), in the shape that websocketpp plugs extensions in by: what the
// server packs is unpacked, within a bound; what we send stays as it is, as the RFC lets a sender choose. It is offered
// by a header of the request, where the configuration asks for it.
#include <zlib.h>

#include <cstdint>
#include <string>
#include <utility>
#include <websocketpp/common/system_error.hpp>
#include <websocketpp/error.hpp>
#include <websocketpp/http/constants.hpp>
#include <websocketpp/processors/base.hpp>

namespace brimwatch {

/// The offer: no promise about our own window is needed, for we never use it.
constexpr const char* kDeflateOffer = "permessage-deflate";

class MessageInflater {
 public:
  using Answer = std::pair<websocketpp::lib::error_code, std::string>;

  MessageInflater() = default;
  ~MessageInflater() {
    if (on_) inflateEnd(&stream_);
  }
  MessageInflater(const MessageInflater&) = delete;
  MessageInflater& operator=(const MessageInflater&) = delete;

  /// What the server chose of it. A parameter that we do not know would change what the bytes mean.
  Answer negotiate(const websocketpp::http::attribute_list& chosen) {
    for (const auto& [name, value] : chosen) {
      const bool known = name == "server_no_context_takeover" || name == "client_no_context_takeover" ||
                         name == "server_max_window_bits";
      if (!known) return {refused(), {}};
    }
    return {{}, kDeflateOffer};
  }

  websocketpp::lib::error_code init(bool /*server*/) {
    on_ = inflateInit2(&stream_, -MAX_WBITS) == Z_OK;  // the largest window reads what any smaller one wrote
    return on_ ? websocketpp::lib::error_code() : refused();
  }

  [[nodiscard]] bool is_implemented() const { return true; }
  [[nodiscard]] bool is_enabled() const { return on_; }
  [[nodiscard]] std::string generate_offer() const { return {}; }

  websocketpp::lib::error_code compress(const std::string&, std::string&) { return refused(); }

  /// A part of a message, appended to what came of the parts before.
  websocketpp::lib::error_code decompress(const std::uint8_t* bytes, std::size_t size, std::string& out) {
    stream_.next_in = const_cast<Bytef*>(bytes);
    stream_.avail_in = static_cast<uInt>(size);
    Bytef room[16 * 1024];
    do {
      stream_.next_out = room;
      stream_.avail_out = sizeof room;
      const int code = inflate(&stream_, Z_SYNC_FLUSH);
      if (code != Z_OK && code != Z_BUF_ERROR && code != Z_STREAM_END) return damaged();
      out.append(reinterpret_cast<const char*>(room), sizeof room - stream_.avail_out);
      if (out.size() > kMost)
        return websocketpp::processor::error::make_error_code(websocketpp::processor::error::message_too_big);
      if (code == Z_STREAM_END && inflateReset(&stream_) != Z_OK) return damaged();  // the sender ended a block for good
    } while (stream_.avail_out == 0 || stream_.avail_in > 0);
    return {};
  }

 private:
  /// Most bytes that any message may unpack to; the feed's own, smaller bound is checked afterwards.
  static constexpr std::size_t kMost = 64U << 20;

  static websocketpp::lib::error_code refused() {
    return websocketpp::error::make_error_code(websocketpp::error::extension_neg_failed);
  }
  static websocketpp::lib::error_code damaged() {
    return websocketpp::error::make_error_code(websocketpp::error::invalid_state);
  }

  z_stream stream_{};
  bool on_ = false;
};

}  // namespace brimwatch

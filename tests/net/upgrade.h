#pragma once
// The headers by which a test asks for a WebSocket (RFC 6455).

namespace brimwatch {

inline constexpr const char* kUpgrade =
    "Upgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Version: 13\r\n"
    "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n";

}  // namespace brimwatch

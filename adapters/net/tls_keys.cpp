#include "adapters/net/tls_keys.h"

#include <boost/asio/ssl/context.hpp>

#include "config/secret.h"
#include "files/text_file.h"

namespace brimwatch {
namespace {

namespace ssl = boost::asio::ssl;

constexpr std::uint64_t kPemMost = 1U << 20;

/// TLS 1.2 with forward secrecy, or 1.3 (RFC 9325).
std::shared_ptr<ssl::context> bare_context() {
  auto context = std::make_shared<ssl::context>(ssl::context::tls_server);
  SSL_CTX* const bare = context->native_handle();
  SSL_CTX_set_min_proto_version(bare, TLS1_2_VERSION);
  SSL_CTX_set_options(bare, SSL_OP_NO_RENEGOTIATION | SSL_OP_NO_COMPRESSION | SSL_OP_CIPHER_SERVER_PREFERENCE);
  SSL_CTX_set_cipher_list(bare, "ECDHE+AESGCM:ECDHE+CHACHA20");
  static constexpr unsigned char kSession[] = "brimwatch";
  SSL_CTX_set_session_id_context(bare, kSession, sizeof kSession - 1);
  return context;
}

Result<std::shared_ptr<ssl::context>> read_pair(const std::string& certificate, const std::string& key) {
  const auto chain = read_file(certificate, kPemMost);
  if (!chain) return tl::unexpected(chain.error());
  const auto secret = read_secret({SecretSource::Kind::file, key});
  if (!secret) return tl::unexpected(secret.error());
  auto context = bare_context();
  boost::system::error_code error;
  context->use_certificate_chain(boost::asio::buffer(*chain), error);
  if (error) return fail(certificate + ": found no certificate that can be used, expected one or more in PEM");
  context->use_private_key(boost::asio::buffer(secret->text()), ssl::context::pem, error);
  if (error) {
    return fail(key + ": found no private key that belongs to " + certificate +
                ", expected its key in PEM, without a password");
  }
  if (SSL_CTX_check_private_key(context->native_handle()) != 1)
    return fail(key + ": found the private key of another certificate than " + certificate);
  return context;
}

}  // namespace

Result<std::shared_ptr<TlsKeys>> TlsKeys::load(const std::string& certificate, const std::string& key) {
  auto read = read_pair(certificate, key);
  if (!read) return tl::unexpected(read.error());
  return std::shared_ptr<TlsKeys>(new TlsKeys(std::move(*read)));
}

}  // namespace brimwatch

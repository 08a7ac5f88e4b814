#pragma once
// Independent servers as programs of their own, and the certificates they show.
#include <gtest/gtest.h>

#include <fstream>
#include <string>

#include "tests/support/peer.h"

namespace brimwatch {

/// One of tests/net/peers, with the port that it says.
struct Server {
  explicit Server(const std::string& script, std::vector<std::string> arguments = {}) : peer(words(script, arguments)) {
    const std::string said = peer.line();
    EXPECT_EQ(said.substr(0, 5), "port ");
    port = said.substr(std::min<std::size_t>(5, said.size()));
  }

  static std::vector<std::string> words(const std::string& script, const std::vector<std::string>& arguments) {
    std::vector<std::string> out{"/usr/bin/python3", std::string(BRIMWATCH_SOURCE_DIR "/tests/net/peers/") + script};
    out.insert(out.end(), arguments.begin(), arguments.end());
    return out;
  }

  testing_support::Peer peer;
  std::string port;
};

/// "good" for 127.0.0.1 and localhost, "other" for another host, "expired" for 127.0.0.1 in 2020; made once by openssl.
inline const std::string& certificates() {
  using namespace testing_support;
  static const TemporaryDirectory directory;
  static const bool made = [] {
    const std::string& at = directory.path();
    if (!make_certificate(at, "good", "IP:127.0.0.1,DNS:localhost")) return false;
    if (!make_certificate(at, "other", "DNS:quotes.example.org")) return false;
    std::ofstream(at + "/ca.cnf") << "[ca]\ndefault_ca=d\n[d]\nnew_certs_dir=" << at << "\ndatabase=" << at
                                  << "/index\nserial=" << at
                                  << "/serial\ndefault_md=sha256\npolicy=p\nx509_extensions=x\n[p]\ncommonName=supplied\n"
                                     "[x]\nsubjectAltName=IP:127.0.0.1\nbasicConstraints=CA:TRUE\n"
                                     "[req]\ndistinguished_name=n\n[n]\n";
    std::ofstream(at + "/index");
    std::ofstream(at + "/serial") << "01\n";
    Peer request({"openssl", "req", "-new", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
                  "-config", at + "/ca.cnf", "-keyout", at + "/expired.key", "-out", at + "/expired.csr", "-subj",
                  "/CN=expired"});
    request.all();
    Peer sign({"openssl", "ca", "-batch", "-selfsign", "-config", at + "/ca.cnf", "-keyfile", at + "/expired.key", "-in",
               at + "/expired.csr", "-out", at + "/expired.pem", "-startdate", "20200101000000Z", "-enddate",
               "20200201000000Z", "-notext"});
    sign.all();
    return std::filesystem::exists(at + "/expired.pem");
  }();
  EXPECT_TRUE(made) << "openssl could not make the certificates";
  return directory.path();
}

inline std::vector<std::string> with_certificate(const std::string& name) {
  return {"certificate=" + certificates() + "/" + name + ".pem", "key=" + certificates() + "/" + name + ".key"};
}

}  // namespace brimwatch

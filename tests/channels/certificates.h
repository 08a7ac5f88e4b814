#pragma once
// Certificates for servers on loopback, made once a program: "good" for 127.0.0.1, "other" for another host.
#include <gtest/gtest.h>

#include "tests/support/peer.h"

namespace brimwatch::testing_support {

inline const std::string& certificates() {
  static const TemporaryDirectory directory;
  static const bool made = make_certificate(directory.path(), "good", "IP:127.0.0.1") &&
                           make_certificate(directory.path(), "other", "DNS:mail.example.org");
  EXPECT_TRUE(made) << "openssl could not make the certificates";
  return directory.path();
}

}  // namespace brimwatch::testing_support

# What `cmake --install` puts where, and the Debian package that CPack makes of it (`cpack -G DEB` in the build folder;
# scripts/package does it with all checks).
include(GNUInstallDirs)
set(debian ${CMAKE_CURRENT_LIST_DIR})
set(made ${CMAKE_BINARY_DIR}/papers)
set(BRIMWATCH_MAINTAINER "Brimwatch maintainers <maintainers@brimwatch.invalid>" CACHE STRING
    "Who made the package: name and mail address, for its Maintainer field and changelog")

install(TARGETS brimwatch RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
foreach(page brimwatch.1 brimwatch.8 brimwatch.toml.5 brimwatch-watches.5 brimwatch-tape.5 brimwatch-notice.5)
  string(REGEX MATCH "[0-9]$" section ${page})
  install(FILES ${made}/man/${page}.gz DESTINATION ${CMAKE_INSTALL_MANDIR}/man${section})
endforeach()
install(FILES ${made}/completions/brimwatch DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions)
install(FILES ${made}/completions/_brimwatch DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions)
install(FILES ${made}/completions/brimwatch.fish DESTINATION ${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d)
install(FILES ${CMAKE_SOURCE_DIR}/config/brimwatch.schema.json ${CMAKE_SOURCE_DIR}/config/control.schema.json
              ${CMAKE_SOURCE_DIR}/config/output.schema.json
        DESTINATION ${CMAKE_INSTALL_DATADIR}/brimwatch)
install(DIRECTORY ${CMAKE_SOURCE_DIR}/config/samples/ DESTINATION ${CMAKE_INSTALL_DOCDIR}/examples
        FILE_PERMISSIONS OWNER_READ OWNER_WRITE GROUP_READ WORLD_READ)
install(PROGRAMS ${CMAKE_SOURCE_DIR}/scripts/demo-tape DESTINATION ${CMAKE_INSTALL_DOCDIR}/examples/demo)
install(PROGRAMS ${CMAKE_SOURCE_DIR}/scripts/etcd-try DESTINATION ${CMAKE_INSTALL_DOCDIR}/examples)
install(PROGRAMS ${CMAKE_SOURCE_DIR}/config/samples/shared/make-house DESTINATION ${CMAKE_INSTALL_DOCDIR}/examples/shared)
install(FILES ${debian}/copyright DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(FILES ${debian}/lintian-overrides DESTINATION ${CMAKE_INSTALL_DATADIR}/lintian/overrides RENAME brimwatch)
# The README names files of a clone; installed, they stand elsewhere.
set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/README.md)
file(READ ${CMAKE_SOURCE_DIR}/README.md readme)
string(REPLACE "config/samples/" "/usr/share/doc/brimwatch/examples/" readme "${readme}")
string(REPLACE "config/samples" "/usr/share/doc/brimwatch/examples" readme "${readme}")
string(REPLACE "config/control.schema.json" "/usr/share/brimwatch/control.schema.json" readme "${readme}")
string(REPLACE "scripts/etcd-try" "/usr/share/doc/brimwatch/examples/etcd-try" readme "${readme}")
foreach(room volume weekend)
  string(REPLACE "daemon/${room}/README.md" "/usr/share/doc/brimwatch/${room}.md" readme "${readme}")
  install(FILES ${CMAKE_SOURCE_DIR}/daemon/${room}/README.md DESTINATION ${CMAKE_INSTALL_DOCDIR} RENAME ${room}.md)
endforeach()
file(WRITE ${CMAKE_BINARY_DIR}/papers-of-package/README.md "${readme}")
install(FILES ${CMAKE_BINARY_DIR}/papers-of-package/README.md DESTINATION ${CMAKE_INSTALL_DOCDIR})

# The units name the program by the place it is installed at. A user's own systemd finds the one, the system's the other.
file(MAKE_DIRECTORY ${CMAKE_BINARY_DIR}/units/user ${CMAKE_BINARY_DIR}/units/system)
foreach(unit "user brimwatch" "system brimwatch-system")
  string(REPLACE " " ";" unit "${unit}")
  list(GET unit 0 kind)
  list(GET unit 1 name)
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/scripts/units/${name}.service)
  file(READ ${CMAKE_SOURCE_DIR}/scripts/units/${name}.service text)
  if(NOT CMAKE_INSTALL_PREFIX STREQUAL "/usr/local" AND NOT CMAKE_INSTALL_PREFIX STREQUAL "/usr")
    string(REPLACE "/usr/bin/brimwatch" "${CMAKE_INSTALL_FULL_BINDIR}/brimwatch" text "${text}")
  endif()
  file(CONFIGURE OUTPUT ${CMAKE_BINARY_DIR}/units/${kind}/brimwatch.service CONTENT "${text}" @ONLY)
  install(FILES ${CMAKE_BINARY_DIR}/units/${kind}/brimwatch.service DESTINATION lib/systemd/${kind})
endforeach()

# The Debian package --------------------------------------------------------------------------------------------------------
set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME brimwatch)
set(CPACK_PACKAGE_VERSION ${PROJECT_VERSION})
set(CPACK_PACKAGE_CONTACT "${BRIMWATCH_MAINTAINER}")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ
                                                WORLD_EXECUTE)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_RELEASE 1)
set(CPACK_DEBIAN_PACKAGE_SECTION misc)
set(CPACK_DEBIAN_PACKAGE_PRIORITY optional)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
# Read or loaded at run time, so that no shared library says so: time zones, the certificates of TLS, adapters/libraries/.
set(CPACK_DEBIAN_PACKAGE_DEPENDS "tzdata, ca-certificates, libcairo2, libcurl4")
# The pictures' letters.
set(CPACK_DEBIAN_PACKAGE_RECOMMENDS "fonts-dejavu-core, libqrencode4")
set(CPACK_DEBIAN_PACKAGE_SUGGESTS "notification-daemon, python3, libmosquitto1")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "tells when a stock crosses its prepared pivot")
set(CPACK_DEBIAN_PACKAGE_DESCRIPTION
"Brimwatch is for a person who buys growth stocks as they break out of a base.
It follows a quote feed in the background, projects the full day's volume from
the pace so far, and tells once, at the moment it matters, when a price crosses
its prepared pivot or leaves the buy range, with honest odds of the volume.
.
Notices go to the desktop, by mail, to a web address or to a program of one's
own. It informs; it never advises and places no orders.")
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION TRUE)
set(CPACK_DEBIAN_PACKAGE_CONTROL_EXTRA ${debian}/postinst ${debian}/prerm ${debian}/postrm)

# Only the package has a changelog, packed as Debian wants it: without a time of its own.
set(CPACK_PRE_BUILD_SCRIPTS ${debian}/changelog.cmake)
set(CPACK_BRIMWATCH_CHANGELOG ${debian}/changelog)
include(CPack)

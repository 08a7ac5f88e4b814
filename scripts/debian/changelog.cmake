# Runs inside cpack, when everything else is in its place: the changelog, packed.
set(folder ${CPACK_TEMPORARY_DIRECTORY}${CPACK_PACKAGING_INSTALL_PREFIX}/share/doc/brimwatch)
file(READ ${CPACK_BRIMWATCH_CHANGELOG} text)
string(REPLACE "@MAINTAINER@" "${CPACK_PACKAGE_CONTACT}" text "${text}")
file(WRITE ${folder}/changelog.Debian "${text}")
execute_process(COMMAND gzip -9n ${folder}/changelog.Debian COMMAND_ERROR_IS_FATAL ANY)

# sbom(TARGET): a target `sbom` that writes the bill of materials of that program, SPDX 2.3 in JSON, into the build folder as
# brimwatch.spdx.json. A release always has it, and installs it beside the documents.
function(sbom program)
  set(file ${CMAKE_BINARY_DIR}/${program}.spdx.json)
  add_custom_command(OUTPUT ${file} COMMAND ${CMAKE_SOURCE_DIR}/scripts/sbom $<TARGET_FILE:${program}> ${PROJECT_VERSION} ${file}
                     DEPENDS ${program} ${CMAKE_SOURCE_DIR}/scripts/sbom COMMENT "Listing what ${program} is made of" VERBATIM)
  if(CMAKE_BUILD_TYPE STREQUAL Release)
    add_custom_target(sbom ALL DEPENDS ${file})
    install(FILES ${file} DESTINATION ${CMAKE_INSTALL_DOCDIR})
  else()
    add_custom_target(sbom DEPENDS ${file})
  endif()
endfunction()

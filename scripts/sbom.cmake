# sbom(TARGET): a target `sbom` that writes the bill of materials of that program, SPDX 2.3 in JSON, into the build folder as
# brimwatch.spdx.json (property SBOM_FILE of the target). For an install rule: add_dependencies and install(FILES ...).
function(sbom program)
  set(file ${CMAKE_BINARY_DIR}/${program}.spdx.json)
  add_custom_command(OUTPUT ${file} COMMAND ${CMAKE_SOURCE_DIR}/scripts/sbom $<TARGET_FILE:${program}> ${PROJECT_VERSION} ${file}
                     DEPENDS ${program} ${CMAKE_SOURCE_DIR}/scripts/sbom COMMENT "Listing what ${program} is made of" VERBATIM)
  add_custom_target(sbom DEPENDS ${file})
  set_target_properties(sbom PROPERTIES SBOM_FILE ${file})
endfunction()

# cmake -C src/cmake/fuzz.cmake -S . -B .build/fuzz
set(CMAKE_BUILD_TYPE "RelWithDebInfo" CACHE STRING "")
set(CMAKE_C_COMPILER "clang" CACHE STRING "")
set(CMAKE_C_FLAGS "-ffp-contract=off" CACHE STRING "")
set(FM_FUZZ ON CACHE BOOL "")
set(BUILD_TESTING ON CACHE BOOL "")

#!/usr/bin/env bash
# Builds halfstick.exe with SDL 2 linked in: build.sh FILE.exe, from the top of
# the project. Debian or Ubuntu only, since SDL is compiled from their source
# package; it is kept in the user's cache, so only the first build takes long.
#
# The static libraries that come with go-sdl2 are SDL 2.0.12, which has no named
# virtual joysticks; so SDL is built here, without what a joystick does not need.
set -euo pipefail

exe=$1
host=x86_64-w64-mingw32
cache=${XDG_CACHE_HOME:-$HOME/.cache}/halfstick-windows
log=$cache/build.log

if ! command -v $host-gcc >/dev/null; then
	echo "the cross-compiler $host-gcc is missing; install gcc-mingw-w64-x86-64" >&2
	exit 1
fi

# fetch_source FOLDER leaves SDL's source tarball in it. A system rarely lists
# source packages, so its own lists are asked again as such, without touching them.
fetch_source() {
	local lists=$1/lists parts=$1/parts
	mkdir -p "$lists/partial" "$parts"
	local file
	for file in /etc/apt/sources.list.d/{debian,ubuntu}*.sources; do
		[ -f "$file" ] && sed 's/^Types:.*/Types: deb-src/' "$file" >"$parts/${file##*/}"
	done
	[ -f /etc/apt/sources.list ] && sed -n 's/^deb /deb-src /p' /etc/apt/sources.list >"$parts/main.list"
	local apt=(apt-get -qq -o Dir::Etc::SourceList=/dev/null -o "Dir::Etc::SourceParts=$parts"
		-o "Dir::State::Lists=$lists" -o APT::Sandbox::User=)
	"${apt[@]}" update && (cd "$1" && "${apt[@]}" source --download-only libsdl2)
}

if [ ! -f "$cache/sdl/lib/libSDL2.a" ]; then
	echo "building SDL 2 for Windows (once, some minutes; log in $log)"
	work=$(mktemp -d)
	trap 'rm -rf "$work"' EXIT
	mkdir -p "$cache"
	if ! (
		fetch_source "$work" &&
		tar -xf "$work"/libsdl2_*.orig.tar.* -C "$work" &&
		mkdir "$work/build" &&
		cd "$work/build" &&
		"$work"/SDL2-*/configure --host=$host --prefix="$work/sdl" --disable-shared --enable-static \
			--disable-audio --disable-render --disable-haptic \
			--disable-video-opengl --disable-video-opengles --disable-video-vulkan &&
		make -j"$(nproc)" &&
		make install
	) >"$log" 2>&1; then
		tail -n 20 "$log" >&2
		echo "SDL 2 could not be built; the whole log is $log" >&2
		exit 1
	fi
	rm -rf "$cache/sdl"
	mv "$work/sdl" "$cache/sdl"
fi

# SDL's own list of libraries would make it a program without a console.
system="-ldinput8 -ldxguid -ldxerr8 -luser32 -lgdi32 -lwinmm -limm32 -lole32 -loleaut32 -lshell32 -lsetupapi -lversion -luuid"
CGO_ENABLED=1 GOOS=windows GOARCH=amd64 CC=$host-gcc \
	CGO_CFLAGS="-O2 -I$cache/sdl/include -I$cache/sdl/include/SDL2" \
	CGO_LDFLAGS="-L$cache/sdl/lib -lSDL2 -static $system" \
	"${GO:-go}" build -trimpath -o "$exe" ./cmd/halfstick

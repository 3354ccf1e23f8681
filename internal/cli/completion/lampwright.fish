# Completion of lampwright for fish. Save it as ~/.config/fish/completions/lampwright.fish
function __lampwright_complete
	set -l words (commandline -opc)
	set -l last (commandline -ct)
	set -l program $words[1]
	set -e words[1]
	$program __complete $words "$last" 2>/dev/null
end
complete -c lampwright -a '(__lampwright_complete)'

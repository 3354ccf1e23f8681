#compdef lampwright
# Completion of lampwright for zsh. Save it as _lampwright in a folder of $fpath, or load it in ~/.zshrc after compinit:
# source <(lampwright completion zsh)
_lampwright() {
	local -a candidates
	candidates=("${(@f)$(${words[1]} __complete "${(@)words[2,CURRENT]}" 2>/dev/null)}")
	if [[ -n ${candidates[1]} ]]; then
		compadd -a candidates
	else
		_files
	fi
}
compdef _lampwright lampwright

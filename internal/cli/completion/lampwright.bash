# Completion of lampwright for bash. Load it in ~/.bashrc: source <(lampwright completion bash)
_lampwright() {
	local cur=${COMP_WORDS[COMP_CWORD]} line
	local -a words=()
	local i word
	# bash splits --flag=value at the equals sign: pass flag and value as two words.
	for ((i = 1; i <= COMP_CWORD; i++)); do
		word=${COMP_WORDS[i]}
		[[ $word == '=' ]] && { [[ $i -eq $COMP_CWORD ]] && words+=(''); continue; }
		words+=("$word")
	done
	[[ $cur == '=' ]] && cur=''
	COMPREPLY=()
	while IFS= read -r line; do
		COMPREPLY+=("$(printf '%q' "$line")")
	done < <("${COMP_WORDS[0]}" __complete "${words[@]}" 2>/dev/null)
	if [[ ${#COMPREPLY[@]} -eq 1 && ${COMPREPLY[0]} == *= ]]; then
		compopt -o nospace
	fi
}
complete -o bashdefault -o default -F _lampwright lampwright

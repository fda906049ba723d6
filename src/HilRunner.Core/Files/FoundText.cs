namespace HilRunner.Core.Files;

/// <summary>What a file holds, as an error shows it.</summary>
internal static class FoundText
{
    /// <summary>What a file holds at some place, fit to be printed: in quotes, control characters as ?, cut when long.</summary>
    public static string Show(ReadOnlySpan<char> text)
    {
        const int longest = 40;
        if (text.IsWhiteSpace()) { return "nothing"; }
        var shown = text.Trim();
        bool cut = shown.Length > longest;
        if (cut) { shown = shown[..longest]; }
        var printable = new char[shown.Length];
        for (int i = 0; i < shown.Length; i++) { printable[i] = char.IsControl(shown[i]) || char.IsSurrogate(shown[i]) ? '?' : shown[i]; }
        return $"'{new string(printable)}{(cut ? "…" : "")}'";
    }
}

using System.Text;

namespace HilRunner.Core.Documents;

/// <summary>Splits a command line into words: at blanks, but not inside '…' or "…". Nothing else is special: no shell.</summary>
internal static class Words
{
    /// <summary>Null when a quote is not closed.</summary>
    public static IReadOnlyList<string>? Split(string text)
    {
        var words = new List<string>();
        var word = new StringBuilder();
        char quote = '\0';
        bool inWord = false;
        foreach (char c in text)
        {
            if (quote != '\0')
            {
                if (c == quote) { quote = '\0'; } else { word.Append(c); }
            }
            else if (c is '\'' or '"')
            {
                quote = c;
                inWord = true;
            }
            else if (c is ' ' or '\t')
            {
                if (inWord) { words.Add(word.ToString()); }
                word.Clear();
                inWord = false;
            }
            else
            {
                word.Append(c);
                inWord = true;
            }
        }
        if (quote != '\0') { return null; }
        if (inWord) { words.Add(word.ToString()); }
        return words;
    }
}

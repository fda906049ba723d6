namespace HilRunner.Core.Tests.Documents;

/// <summary>Documents with one thing changed, in which ¦ marks where the fault is to be found.</summary>
internal static class MarkedText
{
    /// <returns>The changed document without the mark, and line:column of the mark.</returns>
    public static (string Text, string Place) Change(string document, string good, string bad)
    {
        int at = document.IndexOf(good, StringComparison.Ordinal);
        Assert.That(at, Is.GreaterThanOrEqualTo(0), $"the document does not hold {good}");
        string marked = document[..at] + bad + document[(at + good.Length)..];
        int mark = marked.IndexOf('¦', StringComparison.Ordinal);
        Assert.That(mark, Is.GreaterThanOrEqualTo(0), "the case marks no place");
        int line = marked[..mark].Count(c => c == '\n') + 1, column = mark - marked.LastIndexOf('\n', mark);
        return (marked.Remove(mark, 1), $"{line}:{column}");
    }
}

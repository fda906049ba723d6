using YamlDotNet.Core;
using YamlDotNet.Core.Events;

namespace HilRunner.Core.Documents;

/// <summary>
/// The YAML parser, made to fail in one way only: its scanner leaves some malformed texts (a quote or bracket missing inside
/// a flow map) with exceptions that say nothing of the text.
/// </summary>
internal sealed class GuardedParser(IParser inner) : IParser
{
    public ParsingEvent? Current => inner.Current;

    public bool MoveNext()
    {
        Mark before = inner.Current?.End ?? Mark.Empty;
        try
        {
            return inner.MoveNext();
        }
        catch (Exception e) when (e is InvalidOperationException or ArgumentException or IndexOutOfRangeException or FormatException or OverflowException)
        {
            throw new YamlException(before, before, "something after this place cannot be read", e);
        }
    }
}

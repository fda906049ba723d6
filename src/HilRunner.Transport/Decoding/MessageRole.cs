using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Decoding;

/// <summary>What one kind of message is for, and the names its groups or fields may have.</summary>
/// <param name="Where">Entry of the rig, for messages.</param>
/// <param name="Output">For a decision: index of its output.</param>
/// <param name="Classes">For a decision.</param>
/// <param name="Values">For a sample: names of the input channels; for features: theirs.</param>
/// <param name="Numbers">What its numbers count.</param>
internal sealed record MessageRole(
    MessageKind Kind, string Where, int Output, ClassNames? Classes, IReadOnlyList<string> Values, Numbering Numbers)
{
    public static readonly string[] TickNames = ["t_us", "t_ms", "ticks"];
    public static readonly string[] ConfidenceNames = ["score", "confidence"];

    /// <summary>
    /// Identity, banner and counters say words by name; the others say numbers that mean something to the tool.
    /// </summary>
    public bool SaysWords => Kind is MessageKind.Identity or MessageKind.Booted or MessageKind.Counters or MessageKind.Ignored;

    /// <summary>Refuses a description that lacks what its kind must say, or says one thing twice.</summary>
    /// <exception cref="InvalidDataException">Says which name is missing.</exception>
    public void Check(IReadOnlyCollection<string> names)
    {
        string[] required = Kind switch
        {
            MessageKind.Decision => ["class"],
            MessageKind.Sample => [.. Values],
            MessageKind.Features => ["n", .. Values],
            _ => [],
        };
        foreach (string name in required)
        {
            if (!names.Contains(name))
            {
                throw new InvalidDataException($"{Where}: says nothing named {name}; expected {string.Join(", ", required)} among its groups or fields");
            }
        }
        if (Kind == MessageKind.Clock && !names.Intersect(TickNames).Any())
        {
            throw new InvalidDataException($"{Where}: says no time; expected one of {string.Join(", ", TickNames)} among its groups or fields");
        }
        if (Kind == MessageKind.Credit && !names.Intersect(Numbering.Names).Any())
        {
            throw new InvalidDataException(
                $"{Where}: says no number; expected one of {string.Join(", ", Numbering.Names)} among its groups or fields");
        }
        foreach (string[] same in (string[][])[TickNames, ConfidenceNames, [.. Numbering.Names]])
        {
            string[] found = [.. names.Intersect(same)];
            if (found.Length > 1) { throw new InvalidDataException($"{Where}: says {string.Join(" and ", found)}; expected only one of them"); }
        }
    }
}

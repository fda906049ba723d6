using System.Text.RegularExpressions;
using HilRunner.Core.Documents;

namespace HilRunner.Core.Rigs;

/// <summary>Messages to and from the device: a template or pattern, or a binary frame.</summary>
internal static partial class MessageShapes
{
    public static readonly string[] Channels = ["ax", "ay", "az", "gx", "gy", "gz"];

    /// <summary>A device that keeps a matcher busy for longer than this on one line is not understood.</summary>
    public static readonly TimeSpan MatchTimeout = TimeSpan.FromMilliseconds(50);

    /// <summary>Groups and fields that give device time; a rig uses one of them throughout.</summary>
    public static readonly string[] TimeGroups = ["t_us", "t_ms", "ticks"];

    private static readonly string[] KnownGroups =
        ["class", "n", "batch", "seq", .. TimeGroups, "score",
            "confidence", "token", "product", "version", "image", "slot", .. Channels];

    /// <param name="placeholders">Names that have a value in this message.</param>
    public static Shape<OutgoingMessage> Outgoing(params string[] placeholders)
    {
        string allowed = placeholders.Length == 0 ? "no placeholders" : "the placeholders " + string.Join(" ", placeholders.Select(p => $"{{{p}}}"));
        return new EitherShape<OutgoingMessage>($"a text to send with {allowed}, or a binary frame",
            scalar: Shapes.Text($"a text to send with {allowed}").Select((text, node, reading) =>
            {
                if (StrayBrace(text) is { } brace) { reading.Refuse(node, $"{node.Shown}, with a single {brace}", allowed, $"write {brace}{brace} to send a brace"); }
                bool isSample = placeholders.Contains(Channels[0]);
                if (!isSample && (text.Contains("[[", StringComparison.Ordinal) || text.Contains("]]", StringComparison.Ordinal)))
                {
                    reading.Refuse(node, $"{node.Shown}, with [[ or ]]",
                        "a text that repeats nothing: [[ ]] is for hears.sample");
                }
                foreach (string name in Placeholders(text).Except(placeholders)) { RefusePlaceholder(name, placeholders, allowed, node, reading); }
                return new OutgoingMessage(text, null);
            }),
            map: LayoutShapes.Layout.Select((layout, node, reading) =>
            {
                var unknown = layout.Fields.Concat(layout.Repeat).Where(f => f.Value is null && f.Name != "_").Select(f => f.Name).Except(placeholders);
                foreach (string name in unknown) { RefusePlaceholder(name, placeholders, allowed, node, reading); }
                return new OutgoingMessage(null, layout);
            }));
    }

    /// <param name="needs">Each a list of names of which the message must hold one.</param>
    /// <param name="anyName">Names beyond the known ones are kept (identity).</param>
    public static Shape<IncomingMessage> Incoming(bool anyName, params string[][] needs) =>
        new EitherShape<IncomingMessage>(FormOf(needs, "a pattern or a binary frame"),
            scalar: Pattern(anyName, needs).Select(pattern => new IncomingMessage(pattern, null)),
            map: LayoutShapes.Layout.Select((layout, node, reading) =>
            {
                CheckFields(layout, anyName, needs, node, reading);
                return new IncomingMessage(null, layout);
            }));

    /// <summary>A regular expression with the named groups a message needs.</summary>
    public static Shape<string> Pattern(bool anyName, params string[][] needs) =>
        Shapes.Text(FormOf(needs, "a regular expression"), @"^k (?<n>\d+)$").Select((pattern, node, reading) =>
        {
            try
            {
                var regex = new Regex(pattern, RegexOptions.CultureInvariant, MatchTimeout);
                CheckNames(GroupsOf(regex), "group", anyName, needs, node, reading);
            }
            catch (RegexParseException e)
            {
                reading.Refuse(node, $"no regular expression ({e.Error}, at character {e.Offset + 1})", FormOf(needs, "a regular expression"));
            }
            return pattern;
        });

    public static void CheckFields(BinaryLayout layout, bool anyName, string[][] needs, Node node, Reading reading) =>
        CheckNames([.. layout.Fields.Concat(layout.Repeat).Where(f => f.Name != "_").Select(f => f.Name)], "field", anyName, needs, node, reading);

    /// <summary>Names of the groups of a pattern or of the fields of a layout.</summary>
    public static IReadOnlyList<string> NamesIn(IncomingMessage message) => message.Pattern is { } pattern
        ? GroupsOf(new Regex(pattern, RegexOptions.CultureInvariant, MatchTimeout))
        : [.. message.Layout!.Fields.Concat(message.Layout.Repeat).Select(f => f.Name)];

    /// <summary>Names in braces; {{ and }} are braces to send.</summary>
    public static IEnumerable<string> Placeholders(string template) =>
        TemplateForm().Matches(template).Where(m => m.Groups[1].Success).Select(m => m.Groups[1].Value);

    private static char? StrayBrace(string template) =>
        TemplateForm().Matches(template).Where(m => m.Value is "{" or "}").Select(m => (char?)m.Value[0]).FirstOrDefault();

    private static List<string> GroupsOf(Regex regex) => [.. regex.GetGroupNames().Where(n => !char.IsAsciiDigit(n[0]))];

    private static void CheckNames(IReadOnlyList<string> names, string what, bool anyName, string[][] needs, Node node, Reading reading)
    {
        foreach (string[] need in needs)
        {
            if (need.Any(names.Contains)) { continue; }
            string? near = names.Select(n => EditDistance.Nearest(n, need)).FirstOrDefault(n => n is not null);
            reading.Faults.Add(node, $"no {what} {string.Join(" or ", need)} in {node.Path}", FormOf(needs, what == "group" ? "a regular expression" : "a binary frame"),
                near is null ? "" : $"rename the {what} that was meant to be {near}");
        }
        if (anyName) { return; }
        foreach (string name in names.Except(KnownGroups))
        {
            string? near = EditDistance.Nearest(name, KnownGroups);
            reading.Faults.Add(node, $"unknown {what} {name} in {node.Path}", $"one of {string.Join(", ", KnownGroups)}",
                near is null ? (what == "group" ? "write (?: … ) for a group without a name" : "call it _ to skip it") : $"did you mean {near}?");
        }
    }

    private static string FormOf(string[][] needs, string what)
    {
        var listed = needs.Select(n => n.Length == 1 ? n[0] : $"one of {string.Join(", ", n)}").ToList();
        return listed.Count == 0 ? what : $"{what} that names {string.Join(" and ", listed)}";
    }

    private static void RefusePlaceholder(string name, string[] placeholders, string allowed, Node node, Reading reading)
    {
        string? near = EditDistance.Nearest(name, placeholders);
        reading.Faults.Add(node, $"unknown placeholder {{{name}}} in {node.Path}", allowed, near is null ? "" : $"did you mean {{{near}}}?");
    }

    [GeneratedRegex(@"\{\{|\}\}|\{([^{}]*)\}|[{}]", RegexOptions.CultureInvariant)]
    private static partial Regex TemplateForm();
}

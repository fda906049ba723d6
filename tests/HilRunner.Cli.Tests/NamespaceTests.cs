using System.Text.RegularExpressions;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>
/// Within a room, no two namespaces need each other, be it by way of others: each can be read, and taken out, from the bottom up.
/// By what the source says: its using lines, and names that are written with their namespace.
/// </summary>
public partial class NamespaceTests
{
    private static readonly string s_sources = Path.Combine(TestPaths.Root, "src");

    public static IEnumerable<string> Rooms =>
        Directory.GetDirectories(s_sources, "HilRunner.*").Select(Path.GetFileName).OfType<string>()
            .Order(StringComparer.Ordinal);

    [TestCaseSource(nameof(Rooms))]
    public void NoTwoNamespacesOfARoomNeedEachOther(string room)
    {
        var (needs, because) = Needs(room);
        var circles = needs.Keys.Where(a => Reached(needs, a).Contains(a))
            .Select(a =>
                $"{a} needs {string.Join(", ", needs[a].Where(b => Reached(needs, b).Contains(a)).Select(b => $"{b} ({string.Join(", ", because[(a, b)])})"))}");
        Assert.That(circles, Is.Empty, room);
    }

    /// <summary>The test itself: of three in a circle all are found, and one beside it is not.</summary>
    [Test]
    public void ACircleIsFound()
    {
        var needs = new Dictionary<string, HashSet<string>>
        {
            ["a"] = ["b"], ["b"] = ["c"], ["c"] = ["a"], ["d"] = ["a"],
        };
        Assert.That(needs.Keys.Where(n => Reached(needs, n).Contains(n)), Is.EqualTo(new[] { "a", "b", "c" }));
    }

    private static (Dictionary<string, HashSet<string>> Needs, Dictionary<(string, string),
        SortedSet<string>> Because) Needs(string room)
    {
        var files = Directory.GetFiles(Path.Combine(s_sources, room), "*.cs", SearchOption.AllDirectories)
            .Where(f => !Path.GetRelativePath(s_sources, f).Split(Path.DirectorySeparatorChar).Any(p => p is "obj" or "bin"))
            .Select(f => (Name: Path.GetFileName(f), Text: Comment().Replace(File.ReadAllText(f), "")))
            .Select(f => (f.Name, f.Text, Namespace: Own().Match(f.Text).Groups[1].Value)).Where(f => f.Namespace.Length > 0)
                .ToList();
        var all = files.Select(f => f.Namespace).ToHashSet(StringComparer.Ordinal);
        var types = files.SelectMany(f => Declared().Matches(f.Text).Select(m => (f.Namespace, Name: m.Groups[1].Value)))
            .ToLookup(t => t.Namespace, t => t.Name);
        Dictionary<string, HashSet<string>> needs = all.ToDictionary(n => n, _ => new HashSet<string>(StringComparer.Ordinal));
        var because = new Dictionary<(string, string), SortedSet<string>>();
        foreach (var (name, text, own) in files)
        {
            var used = Using().Matches(text).Select(m => m.Groups[1].Value)
                .Concat(all.Where(n => n.StartsWith(room + ".", StringComparison.Ordinal)
                    && types[n].Any() && Regex.IsMatch(text,
                        $@"(?<![\w.]){Regex.Escape(n[(room.Length + 1)..])}\.({string.Join('|', types[n].Distinct())})\b")))
                .Where(n => n != own && all.Contains(n));
            foreach (string other in used)
            {
                needs[own].Add(other);
                if (!because.TryGetValue((own, other), out var why)) { because[(own,
                    other)] = why = new(StringComparer.Ordinal); }
                why.Add(name);
            }
        }
        return (needs, because);
    }

    private static HashSet<string> Reached(Dictionary<string, HashSet<string>> needs, string from)
    {
        var reached = new HashSet<string>(StringComparer.Ordinal);
        var open = new Stack<string>(needs[from]);
        while (open.TryPop(out string? next))
        {
            if (!reached.Add(next)) { continue; }
            foreach (string further in needs[next]) { open.Push(further); }
        }
        return reached;
    }

    [GeneratedRegex(@"^namespace ([\w.]+);", RegexOptions.Multiline)]
    private static partial Regex Own();

    [GeneratedRegex(@"^using (?:static )?(HilRunner[\w.]*);", RegexOptions.Multiline)]
    private static partial Regex Using();

    [GeneratedRegex(@"^(?:public|internal) [\w ]*?(?:class|record struct|record|struct|interface|enum) (\w+)",
        RegexOptions.Multiline)]
    private static partial Regex Declared();

    [GeneratedRegex(@"//.*$|""(?:[^""\\\r\n]|\\.)*""", RegexOptions.Multiline)]
    private static partial Regex Comment();
}

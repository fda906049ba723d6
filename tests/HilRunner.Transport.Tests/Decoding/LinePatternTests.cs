using System.Text;
using System.Text.RegularExpressions;
using CsCheck;
using HilRunner.Transport.Decoding;

namespace HilRunner.Transport.Tests.Decoding;

/// <summary>The table finds exactly what the general engine finds; the general engine is the reference.</summary>
public class LinePatternTests
{
    [TestCase(Devices.Activity)]
    [TestCase(@"^k (?<n>\d+)$")]
    [TestCase(@"^boot (?<version>\S+)")]
    [TestCase(@"^d (?<n>\d+) (?<ax>-?\d+) (?<ay>-?\d+) (?<az>-?\d+)$")]
    [TestCase(@"^id (?<product>\S+) (?<version>\S+)( (?<image>[0-9a-f]+))?( slot (?<slot>\d))?$")]
    [TestCase(@"^t (?<token>\d+) (?<t_us>\d+)$")]
    [TestCase(@"^\$ST,(?<class>[^,*]*),(?<n>\d{1,6})\*[0-9A-F]{2}$")]
    [TestCase(@"^(?:state|mode)=(?<class>[a-z_]+)(?:;q=(?<score>\d+(?:\.\d+)?))?$")]
    [TestCase("^(?<class>x*)x$")]
    [TestCase("^(?<class>a|ab)(c|bcd)(d*)$")]
    public void Usual_patterns_are_matched_by_table(string pattern) => Assert.That(new TextPattern(pattern, "test").ByTable);

    [TestCase("(?<class>x)", Description = "not anchored")]
    [TestCase("^(?=a)(?<class>a)$")]
    [TestCase(@"^(?<a>.)\1$")]
    [TestCase("^(?i)(?<class>a)$")]
    [TestCase("^(?<class>a*)*$")]
    public void Others_are_left_to_the_general_engine(string pattern)
    {
        Assert.That(LinePattern.TryCompile(pattern), Is.Null);
        Assert.That(new TextPattern(pattern, "test").ByTable, Is.False);
    }

    [Test]
    public void A_pattern_that_would_go_back_for_ever_gives_up()
    {
        var pattern = new TextPattern(@"^(?=(a+)+$)(?<class>b)$", "test");
        byte[] line = Encoding.ASCII.GetBytes(new string('a', 60) + "c");
        Assert.That(pattern.TryMatch(line, new int[2]), Is.False);
    }

    [Test]
    public void Table_and_general_engine_agree()
    {
        int tables = 0, matches = 0;
        Gen.Select(PatternGen, LineGen.Array[1, 12]).Sample((pattern, lines) =>
        {
            if (LinePattern.TryCompile(pattern) is not { } table) { return; }
            Interlocked.Increment(ref tables);
            var regex = new Regex(pattern, RegexOptions.CultureInvariant);
            string[] groups = [.. regex.GetGroupNames().Where(name => !char.IsAsciiDigit(name[0]))];
            Assert.That(table.Groups, Is.EquivalentTo(groups));
            foreach (string line in lines)
            {
                int[] slots = new int[2 * groups.Length];
                bool found = table.TryMatch(Encoding.ASCII.GetBytes(line), slots);
                Match expected = regex.Match(line);
                Assert.That(found, Is.EqualTo(expected.Success), $"{pattern} on \"{line}\"");
                if (!found) { continue; }
                Interlocked.Increment(ref matches);
                for (int i = 0; i < table.Groups.Count; i++)
                {
                    Group group = expected.Groups[table.Groups[i]];
                    (int, int) span = group.Success ? (group.Index, group.Index + group.Length) : (-1, -1);
                    Assert.That((slots[2 * i], slots[2 * i + 1]), Is.EqualTo(span), $"{table.Groups[i]} of {pattern} on \"{line}\"");
                }
            }
        }, iter: 20_000);
        // Otherwise the comparison would be empty.
        Assert.That(tables, Is.GreaterThan(10_000));
        Assert.That(matches, Is.GreaterThan(3_000));
    }

    [Test]
    public void Character_sets_agree_on_every_ascii_character()
    {
        foreach (string set in (string[])["\\d", "\\D", "\\w", "\\W", "\\s", "\\S", ".", "[a-f\\d_-]", "[^a-f]", "[]x]", "[\\]\\-z]", "[+--]", "\\t", "\\."])
        {
            string pattern = $"^{set}$";
            LinePattern? table = LinePattern.TryCompile(pattern);
            Assert.That(table, Is.Not.Null, pattern);
            var regex = new Regex(pattern, RegexOptions.CultureInvariant);
            for (char c = '\0'; c < 128; c++)
            {
                if (c == '\n') { continue; }
                Assert.That(table!.TryMatch([(byte)c], []), Is.EqualTo(regex.IsMatch(c.ToString())), $"{pattern} on {(int)c}");
            }
        }
    }

    private static Gen<T> OneOf<T>(params T[] values) => Gen.Int[0, values.Length - 1].Select(i => values[i]);

    private static readonly Gen<string> Atom = OneOf("a", "b", "c", "1", " ", ",", "\\.", "\\d", "\\w", "[ab]", "[^a]", "[b-d1]", ".", "\\S", "\\s");

    private static readonly Gen<string> Quantifier = OneOf("", "", "", "", "*", "+", "?", "{2}", "{1,3}", "{2,}", "*?", "+?", "??");

    private static readonly Gen<string> Piece = Gen.Select(Atom, Quantifier, (a, q) => a + q);

    private static Gen<string> Nest(Gen<string> inner, int level) => Gen.Select(inner, inner, Gen.Int[0, 6], Quantifier, (a, b, shape, q) => shape switch
    {
        0 => $"(?<g{level}>{a}){q}",
        1 => $"(?:{a}|{b}){q}",
        2 => $"({a}{b}){q}",
        3 => $"(?<h{level}>{a}|{b})",
        _ => a + b,
    });

    private static readonly Gen<string> PatternGen =
        Gen.Select(Nest(Piece, 1), Nest(Nest(Piece, 2), 3), Nest(Piece, 4), Gen.Bool, (a, b, c, end) => $"^{a}{b}{c}" + (end ? "$" : ""));

    private static readonly Gen<string> LineGen = OneOf('a', 'b', 'c', 'd', '1', '2', ' ', ',', '.').Array[0, 10].Select(chars => new string(chars));
}

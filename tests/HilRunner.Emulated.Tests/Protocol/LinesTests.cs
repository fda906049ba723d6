using System.Globalization;
using System.Text;
using CsCheck;
using HilRunner.Core.Time;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Emulated.Tests.Models;

namespace HilRunner.Emulated.Tests.Protocol;

/// <summary>The lines of src/HilRunner.Device/README.md, said by firmware on an emulated microcontroller.</summary>
public sealed class LinesTests
{
    private static readonly ImageSpec Image = new();
    private Emulator _device = null!;
    private LineTalk _talk = null!;

    [SetUp]
    public void Start()
    {
        _device = new(Image);
        _talk = new(_device.Link);
        _talk.WaitForBanner();
    }

    [TearDown]
    public void Stop() => _device.Dispose();

    [Test]
    public void It_says_its_banner_then_answers_who_it_is_what_time_it_is_and_its_state()
    {
        _talk.Say("id\nt 77\nst\n");
        _talk.WaitFor("st");
        Assert.Multiple(() =>
        {
            Assert.That(_talk.Lines, Has.Length.EqualTo(4));
            Assert.That(_talk.Lines[0], Is.EqualTo("boot 1.0.0"));
            Assert.That(_talk.Lines[1], Does.Match("^id parcel-tag 1[.]0[.]0 [0-9a-f]{16}$"));
            Assert.That(_talk.Lines[2], Does.Match(@"^t 77 \d+$"));
            Assert.That(_talk.Lines[3], Is.EqualTo("st none"));
        });
    }

    [Test]
    public void Its_clock_never_goes_back_and_keeps_the_hosts_time()
    {
        const int Questions = 300;
        var asked = new List<(long SentNs, long DeviceNs, long ReceivedNs)>();
        for (int i = 0; i < Questions; i++)
        {
            int place = _talk.Lines.Length;
            long sent = _talk.Say($"t {i}\n").Ns;
            place = _talk.WaitFor($"t {i} ", place);
            var (text, at) = _talk.Stamped[place];
            asked.Add((sent, 1000 * long.Parse(text.Split(' ')[2], CultureInfo.InvariantCulture), at.Ns));
        }
        // With no skew one offset must fit all: each question bounds it from both sides (its stamp rounds down by up to 1 µs).
        long least = asked.Max(a => a.DeviceNs - a.ReceivedNs), most = asked.Min(a => a.DeviceNs + 1000 - a.SentNs);
        TestContext.Out.WriteLine(FormattableString.Invariant($"offset known to ±{(most - least) / 2e3:0} µs by {Questions} questions; least round trip {asked.Min(a => a.ReceivedNs - a.SentNs) / 1e3:0} µs"));
        Assert.That(asked.Select(a => a.DeviceNs), Is.Ordered);
        // The timer's own wander was measured at ±30 µs.
        Assert.That(most - least, Is.GreaterThan(-60_000), "no offset fits all answers");
    }

    [TestCase("fly\n", "e 1 unknown")]
    [TestCase("s 1 2 3\n", "e 2 malformed")]
    [TestCase("s 1 2 3 4 5\n", "e 2 malformed")]
    [TestCase("s 1 2  3 4\n", "e 2 malformed")]
    [TestCase("s 1 2 3 40000\n", "e 2 malformed")]
    [TestCase("s 1 2 3 -32769\n", "e 2 malformed")]
    [TestCase("s -1 2 3 4\n", "e 2 malformed")]
    [TestCase("s one 2 3 4\n", "e 2 malformed")]
    [TestCase("s 4294967296 2 3 4\n", "e 2 malformed")]
    [TestCase("t\n", "e 2 malformed")]
    [TestCase("t 4294967296\n", "e 2 malformed")]
    [TestCase("t +1\n", "e 2 malformed")]
    [TestCase("id now\n", "e 1 unknown")]
    [TestCase("ID\n", "e 1 unknown")]
    [TestCase("begin 50000\n", "e 4 rate")]
    [TestCase("begin 100000\ns 5 0 0 0\ns 5 0 0 0\n", "e 5 order")]
    [TestCase("begin 100000\ns 5 0 0 0\ns 4 0 0 0\n", "e 5 order")]
    [TestCase("\n\r\nid\r\n", null)]
    [TestCase("begin 50000\ns 1 0 0 0\n", "e 4 rate")]
    public void What_cannot_be_followed_is_refused(string lines, string? answer)
    {
        _talk.Ask(lines + "t 4294967295\n", "t 4294967295 ");
        string[] said = [.. _talk.Lines[1..^1].Where(l => !l.StartsWith("id ", StringComparison.Ordinal))];
        Assert.That(said, Is.EqualTo(answer is null ? Array.Empty<string>() : [answer]));
    }

    [TestCase(256, "e 1 unknown")]
    [TestCase(257, "e 6 too_long")]
    [TestCase(3000, "e 6 too_long")]
    public void A_line_that_is_too_long_is_dropped_up_to_its_end(int length, string answer)
    {
        _talk.Ask(new string('x', length) + "\nt 1\n", "t 1 ");
        Assert.That(_talk.Lines[1..^1], Is.EqualTo(new[] { answer }));
    }

    [Test]
    public void Credit_comes_each_quarter_window_and_at_the_end()
    {
        _talk.Ask("begin 100000\n" + Lines(Motion.Drops, 0, 200) + "end\nt 1\n", "t 1 ");
        Assert.That(_talk.Lines.Where(l => l[0] == 'k'), Is.EqualTo(new[] { "k 63", "k 127", "k 191", "k 199" }));
    }

    [Test]
    public void Status_is_the_class_it_is_in_and_a_reset_forgets_the_run_and_the_time()
    {
        string asked = _talk.Ask("begin 100000\n" + Lines(Motion.Drops, 0, 200) + "st\n", "c 199");
        int decision = _talk.WaitFor("c ");
        string[] first = _talk.Lines[decision].Split(' '), state = asked.Split(' ');
        Assert.That((state[2], state[4]), Is.EqualTo((first[2], first[4])));
        long before = Time(1);
        Assert.That(long.Parse(state[3], CultureInfo.InvariantCulture), Is.InRange(long.Parse(first[3], CultureInfo.InvariantCulture), before));

        // Its clock runs on while it is asked: longer than any answer takes.
        int token = 1;
        while (Time(++token) < 100_000) { }
        int lines = _talk.Lines.Length;
        HostTime reset = Emulator.Clock.Now;
        _talk.Say("reset\n");
        _talk.WaitFor("boot 1.0.0", lines);
        _talk.Ask(Lines(Motion.Drops, 200, 260) + "st\n", "st none");
        long after = Time(++token);
        Assert.That(after * 1000, Is.LessThan(Emulator.Clock.Now - reset), "the clock starts again");
        Assert.That(_talk.Lines[lines..].Select(l => l.Split(' ')[0]), Is.EqualTo(new[] { "boot", "st", "t" }), "samples outside a run are dropped without an answer");
    }

    [Test]
    public void Status_after_the_end_is_the_class_at_the_end_and_a_new_run_begins_with_none()
    {
        string end = _talk.Ask("begin 100000\n" + Lines(Motion.Drops, 0, 200) + "end\nst\n", "c 199");
        Assert.That(end, Does.StartWith("c 199 resting "));
        Assert.That(_talk.Ask("begin 100000\nst\n", "st"), Is.EqualTo("st none"));
    }

    [Test]
    public void Pieces_of_any_size_and_a_second_run_make_no_difference()
    {
        string run = "begin 100000\n" + Lines(Motion.Drops, 0, 250) + "end\n";
        var pieces = Gen.Int[1, 40].Array[20, 40];
        List<string>? first = null;
        pieces.Sample(sizes =>
        {
            int before = _talk.Lines.Length;
            for (int at = 0, i = 0; at < run.Length; i++)
            {
                int size = Math.Min(sizes[i % sizes.Length], run.Length - at);
                _talk.Say(run.Substring(at, size));
                at += size;
            }
            _talk.Ask("t 9\n", "t 9 ");
            List<string> said = [.. _talk.Lines[before..].Where(l => l[0] == 'c').Select(WithoutTime)];
            first ??= said;
            return said.Count > 0 && said.SequenceEqual(first);
        }, iter: 4, threads: 1, print: sizes => string.Join(',', sizes));
    }

    [Test]
    public void Noise_never_ends_it()
    {
        string[] words = ["s ", "t ", "begin", " ", "1", "-", "id", "\n", "\r", "\0", "99999999999"];
        var almost = Gen.Int[0, words.Length - 1].Select(i => words[i]).Array[0, 200].Select(w => Encoding.Latin1.GetBytes(string.Concat(w)));
        Gen.Select(Gen.OneOf(Gen.Byte.Array[0, 1500], almost), Gen.UInt).Sample((noise, token) =>
        {
            _talk.Say(noise);
            _talk.Ask($"\nt {token}\n", $"t {token} ");
        }, iter: 60, threads: 1);
    }

    /// <summary>What its clock shows, µs.</summary>
    private long Time(int token) =>
        long.Parse(_talk.Ask($"t {token}\n", $"t {token} ").Split(' ')[2], CultureInfo.InvariantCulture);

    internal static string Lines(int[][] counts, int from, int to)
    {
        var text = new StringBuilder();
        for (int n = from; n < to; n++) { text.Append(CultureInfo.InvariantCulture, $"s {n} {counts[0][n]} {counts[1][n]} {counts[2][n]}\n"); }
        return text.ToString();
    }

    private static string WithoutTime(string decision) => string.Join(' ', decision.Split(' ').Where((_, i) => i != 3));
}

using CsCheck;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using Microsoft.Extensions.Time.Testing;

namespace HilRunner.Device.Tests;

/// <summary>The device by what it says, line by line.</summary>
public sealed class LinesDeviceTests
{
    private static readonly VirtualDeviceOptions Plain = new() { Model = "", CreditWindow = 0 };

    [Test]
    public void It_says_its_banner_then_answers_who_it_is_and_what_time_it_is()
    {
        using Bench bench = new(Plain with { Version = "2.1.0", Image = "a1b2c3d4" });
        bench.Link.Send("id\nt 77\nst\n");
        bench.Link.WaitForLine("st");
        Assert.Multiple(() =>
        {
            Assert.That(bench.Link.Lines[0], Is.EqualTo("boot 2.1.0"));
            Assert.That(bench.Link.Lines[1], Is.EqualTo("id parcel-tag 2.1.0 a1b2c3d4"));
            Assert.That(bench.Link.Lines[2], Does.Match(@"^t 77 \d+$"));
            Assert.That(bench.Link.Lines[3], Is.EqualTo("st none"));
        });
    }

    [Test]
    public void It_reports_exactly_the_models_decisions()
    {
        using Bench bench = new(Plain);
        bench.Link.Send("begin 100000\n" + TestMotion.Lines() + "end\nid\n");
        bench.Link.WaitForLine("id");
        string[] said = [.. bench.Link.Lines.Where(l => l.StartsWith("c ", StringComparison.Ordinal))];
        Assert.Multiple(() =>
        {
            Assert.That(TestMotion.Expected, Has.Length.EqualTo(4));
            Assert.That(said.Select(l => l.Split(' ')).Select(f => (long.Parse(f[1]), f[2], double.Parse(f[4]))),
                Is.EqualTo(TestMotion.Expected.Select(d => (d.N, d.Class, d.Confidence))));
        });
    }

    [Test]
    public void Pieces_of_any_size_make_no_difference() =>
        Gen.Int[1, 40].Array[20, 40].Sample(sizes =>
        {
            using Bench bench = new(Plain);
            string text = "begin 100000\r\n" + TestMotion.Lines() + "end\nid\n";
            for (int at = 0, i = 0; at < text.Length; i++)
            {
                int size = Math.Min(sizes[i % sizes.Length], text.Length - at);
                bench.Link.Send(text.Substring(at, size));
                at += size;
            }
            bench.Link.WaitForLine("id");
            return bench.Link.Lines.Count(l => l.StartsWith("c ", StringComparison.Ordinal)) == TestMotion.Expected.Length;
        }, iter: 20, threads: 1);

    [Test]
    public void Credit_comes_each_quarter_window_and_at_the_end()
    {
        using Bench bench = new(Plain with { CreditWindow = 256 });
        bench.Link.Send("begin 100000\n" + TestMotion.Lines(0, 200) + "end\nid\n");
        bench.Link.WaitForLine("id");
        Assert.That(bench.Link.Lines.Where(l => l[0] == 'k'), Is.EqualTo(new[] { "k 63", "k 127", "k 191", "k 199" }));
    }

    [TestCase("fly\n", "e 1 unknown")]
    [TestCase("s 1 2 3\n", "e 2 malformed")]
    [TestCase("s 1 2 3 4 5\n", "e 2 malformed")]
    [TestCase("s 1 2  3 4\n", "e 2 malformed")]
    [TestCase("s 1 2 3 40000\n", "e 2 malformed")]
    [TestCase("s -1 2 3 4\n", "e 2 malformed")]
    [TestCase("s one 2 3 4\n", "e 2 malformed")]
    [TestCase("t\n", "e 2 malformed")]
    [TestCase("id now\n", "e 1 unknown")]
    [TestCase("begin 50000\n", "e 4 rate")]
    [TestCase("begin 100000\ns 5 0 0 0\ns 5 0 0 0\n", "e 5 order")]
    public void What_cannot_be_followed_is_refused(string lines, string answer)
    {
        using Bench bench = new(Plain);
        bench.Link.Send(lines + "id\n");
        bench.Link.WaitForLine("id");
        Assert.That(bench.Link.Lines[1..^1], Is.EqualTo(new[] { answer }));
    }

    [Test]
    public void A_line_without_end_is_dropped_up_to_the_next_line_end()
    {
        using Bench bench = new(Plain);
        // More than the device's inbox holds, to a device that sleeps: it must wake before its writer has to wait.
        bench.Link.WaitForLine("boot");
        bench.Link.Send(new string('x', 200_000) + "\nid\n");
        bench.Link.WaitForLine("id");
        Assert.That(bench.Link.Lines[1], Is.EqualTo("e 6 too_long"));
    }

    [Test]
    public void Noise_never_stops_it() =>
        Gen.Byte.Array[0, 4000].Sample(noise =>
        {
            using Bench bench = new(Plain);
            bench.Link.Send(noise);
            bench.Link.Send("\nid\n");
            bench.Link.WaitForLine("id parcel-tag");
            return bench.Device.Counters.Boots >= 1;
        }, iter: 100, threads: 1);

    [Test]
    public void A_reset_forgets_the_run_and_says_the_banner_again()
    {
        using Bench bench = new(Plain);
        bench.Link.Send("begin 100000\n" + TestMotion.Lines(0, 100) + "st\nreset\n" + TestMotion.Lines(100, 150) + "st\n");
        bench.Link.WaitForLine("st none");
        Assert.Multiple(() =>
        {
            Assert.That(bench.Link.Lines[2], Does.StartWith("c 99 resting "), "asked, it says the class it is in and the last sample");
            Assert.That(bench.Link.Lines[3], Is.EqualTo("boot 1.0.0"));
            Assert.That(bench.Device.Counters.SamplesIgnored, Is.EqualTo(50));
        });
    }

    [Test]
    public void A_second_run_is_as_the_first()
    {
        using Bench bench = new(Plain);
        string run = "begin 100000\n" + TestMotion.Lines() + "end\n";
        bench.Link.Send(run + run + "id\n");
        bench.Link.WaitForLine("id");
        string[] said = [.. bench.Link.Lines.Where(l => l[0] == 'c').Select(l => string.Join(' ', l.Split(' ')[..3]))];
        string[] first = said[..4];
        Assert.That(said[4..], Is.EqualTo(first));
    }

    [Test]
    public void Its_clock_has_the_stated_offset_and_skew_and_a_decision_is_stamped_when_made_not_when_sent()
    {
        FakeTimeProvider time = new();
        using Bench bench = new(Plain with { ClockOffset = TimeSpan.FromSeconds(5), ClockSkewPpm = 50, Delay = TimeSpan.FromMilliseconds(300) }, time);
        bench.Link.WaitForLine("boot");
        time.Advance(TimeSpan.FromSeconds(1000));
        bench.Link.Send("t 1\nbegin 100000\n" + TestMotion.Lines(0, 60) + "t 2\n");
        bench.Link.WaitForLine("t 2");
        Assert.That(bench.Link.Lines[^2..], Is.EqualTo(new[] { "t 1 1005050000", "t 2 1005050000" }), "no decision yet");
        time.Advance(TimeSpan.FromMilliseconds(299));
        bench.Link.Send("t 3\n");
        bench.Link.WaitForLine("t 3");
        Assert.That(bench.Link.Lines.Any(l => l[0] == 'c'), Is.False);
        time.Advance(TimeSpan.FromMilliseconds(1));
        bench.Link.WaitForLine("c 49 resting 1005050000 0.980");
    }

    [Test]
    public void Its_clock_wraps_after_32_bits()
    {
        FakeTimeProvider time = new();
        using Bench bench = new(Plain, time);
        bench.Link.WaitForLine("boot");
        time.Advance(TimeSpan.FromTicks(((1L << 32) + 7) * 10));
        bench.Link.Send("t 1\n");
        bench.Link.WaitForLine("t 1 7");
    }

    [Test]
    public void It_ends_when_its_link_is_lost_or_it_is_cancelled()
    {
        Bench bench = new(Plain);
        bench.Link.WaitForLine("boot");
        bench.Link.Lose();
        bench.Dispose();

        HostClock clock = new(TimeProvider.System);
        ScriptedLink link = new(clock);
        using CancellationTokenSource stop = new();
        using VirtualDevice device = new(Plain, TestMotion.Model, link, clock);
        Task run = Task.Run(() => device.Run(stop.Token));
        link.WaitForLine("boot");
        stop.Cancel();
        Assert.That(run.Wait(TimeSpan.FromSeconds(10)));
    }
}

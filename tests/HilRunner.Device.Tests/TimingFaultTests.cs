using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Testing;
using Microsoft.Extensions.Time.Testing;

namespace HilRunner.Device.Tests;

/// <summary>The faults of time: thinking, a link that takes time, answers that never come; and what an observer is told of them.</summary>
[Timing("times of the device are held to half a millisecond")]
public sealed class TimingFaultTests
{
    private const int Runs = 10;
    private static readonly VirtualDeviceOptions Plain = new() { Model = "", CreditWindow = 0 };

    [Test]
    public void It_thinks_while_it_goes_on_consuming_and_stamps_a_decision_when_it_is_made()
    {
        FakeTimeProvider time = new();
        using Bench bench = new(Plain with { Think = TimeSpan.FromMilliseconds(250), Delay = TimeSpan.FromMilliseconds(20) }, time);
        bench.Link.WaitForLine("boot");
        bench.Link.Send("begin 100000\n" + TestMotion.Lines(0, 60) + "t 0\n");
        bench.Link.WaitForLine("t 0");
        time.Advance(TimeSpan.FromMilliseconds(249));
        bench.Link.Send("st\nt 1\n");
        bench.Link.WaitForLine("t 1");
        Assert.That(bench.Link.Lines[^2], Is.EqualTo("st none"), "it has decided nothing yet");
        Assert.That(bench.Device.Counters.SamplesConsumed, Is.EqualTo(60));
        time.Advance(TimeSpan.FromMilliseconds(1));
        bench.Link.Send("st\nt 2\n");
        bench.Link.WaitForLine("t 2");
        Assert.That(bench.Link.Lines[^2], Is.EqualTo("c 59 resting 250000 0.980"), "asked, it says what it decided");
        time.Advance(TimeSpan.FromMilliseconds(20));
        bench.Link.WaitForLine("c 49 resting 250000 0.980");
    }

    [Test]
    public void What_it_was_thinking_about_is_lost_in_a_reset_and_in_the_next_run()
    {
        FakeTimeProvider time = new();
        using Bench bench = new(Plain with { Think = TimeSpan.FromMilliseconds(250) }, time);
        bench.Link.Send("begin 100000\n" + TestMotion.Lines(0, 60) + "reset\n");
        bench.Link.Send("begin 100000\n" + TestMotion.Lines(0, 60) + "end\nbegin 100000\nid\n");
        bench.Link.WaitForLine("id");
        time.Advance(TimeSpan.FromSeconds(1));
        bench.Link.Send("st\n");
        bench.Link.WaitForLine("st none");
        Assert.That(bench.Device.Counters.Decisions, Is.Zero);
    }

    [TestCase(0, 0, 0, 0)]
    [TestCase(0, 0, 5, 25)]
    [TestCase(0, 20, 30, 0)]
    [TestCase(40, 20, 5, 5)]
    public void Each_time_is_kept_to_what_the_machine_allows(double thinkMs, double delayMs, double inMs, double outMs)
    {
        VirtualDeviceOptions options = Plain with
        {
            Think = TimeSpan.FromMilliseconds(thinkMs),
            Delay = TimeSpan.FromMilliseconds(delayMs),
            LinkIn = TimeSpan.FromMilliseconds(inMs),
            LinkOut = TimeSpan.FromMilliseconds(outMs),
        };
        using Bench bench = new(options);
        bench.Link.WaitForLine("boot");
        List<HostTime> sent = [];
        int whole = TestMotion.Expected.Length;
        for (int run = 1; run <= Runs; run++)
        {
            bench.Link.Send("begin 100000\n");
            for (int n = 0; n < TestMotion.Z.Length; n++) { sent.Add(bench.Link.Send(TestMotion.Lines(n, n + 1))); }
            bench.Link.Send("id\n");
            bench.Link.WaitFor(
                () => bench.Link.Lines.Count(l => l[0] == 'c') == run * whole && bench.Link.Lines.Count(l => l[0] == 'i') == run,
                "all decisions of the run, and the answer to what was asked after its samples");
        }
        bench.Dispose();

        Witness seen = bench.Witness;
        Assert.Multiple(() =>
        {
            var runs = Enumerable.Range(0, Runs).ToList();
            Assert.That(seen.Consumed.Select(c => c.N), Is.EqualTo(runs.SelectMany(_ => Enumerable.Range(0, TestMotion.Z.Length))));
            Assert.That(seen.Decided.Select(d => (d.N, d.Class)), Is.EqualTo(runs.SelectMany(_ => TestMotion.Expected.Select(d => (d.N, d.Class)))));
            Assert.That(seen.Sent.Select(s => s.Decision), Is.EqualTo(seen.Decided));
            var said = bench.Link.Writes.Where(w => w.Text.StartsWith("c ", StringComparison.Ordinal)).ToList();
            Assert.That(said.Select(w => w.Text.Split(' ')[3]), Is.EqualTo(seen.Decided.Select(d => $"{d.Microseconds}")));
            Assert.That(said.Select(w => w.At), Is.EqualTo(seen.Sent.Select(s => s.FirstByte)));
            AssertLate("consumed", seen.Consumed.Zip(sent, (c, at) => c.At - at), inMs);
            AssertLate("decided", seen.Decided.Select((d, i) => d.At - seen.Consumed[i / whole * TestMotion.Z.Length + (int)d.N].At), thinkMs);
            AssertLate("sent", seen.Sent.Select(s => s.FirstByte - s.Decision.At), delayMs + outMs);
        });
    }

    [Test]
    public void What_is_in_the_link_comes_through_a_reset_and_what_waits_in_the_device_does_not()
    {
        // The decision at 49 has left the device by 60, that at 109 has not.
        using Bench bench = new(Plain with { ResetAt = 60, LinkOut = TimeSpan.FromMilliseconds(50), LinkIn = TimeSpan.FromMilliseconds(5) });
        bench.Link.WaitForLine("boot");
        bench.Link.Send("begin 100000\n" + TestMotion.Lines() + "id\n");
        bench.Link.WaitForLine("id");
        Assert.That(bench.Link.Lines.Select(l => l.Split(' ')[0]), Is.EqualTo(new[] { "boot", "c", "boot", "id" }));

        using Bench held = new(Plain with { ResetAt = 60, Delay = TimeSpan.FromMilliseconds(50) });
        held.Link.Send("begin 100000\n" + TestMotion.Lines() + "id\n");
        held.Link.WaitForLine("id");
        Assert.That(held.Link.Lines.Select(l => l.Split(' ')[0]), Is.EqualTo(new[] { "boot", "boot", "id" }));
        Assert.That(held.Witness.Decided, Has.Count.EqualTo(1));
        Assert.That(held.Witness.Sent, Is.Empty);
    }

    [Test]
    public void As_many_answers_are_lost_as_asked_and_the_same_seed_loses_the_same()
    {
        string[] Answered(ulong seed, out long lost)
        {
            using Bench bench = new(Plain with { LoseAnswers = 0.3, Seed = seed });
            bench.Link.Send(string.Concat(Enumerable.Range(0, 2000).Select(t => $"t {t}\n")) + "id\n");
            bench.Link.WaitForLine("id");
            lost = bench.Device.Counters.AnswersLost;
            return [.. bench.Link.Lines.Where(l => l[0] == 't').Select(l => l.Split(' ')[1])];
        }
        string[] first = Answered(7, out long lost);
        Assert.Multiple(() =>
        {
            // Five standard deviations of a binomial count: 5 √(2000 · 0.3 · 0.7) = 102.
            Assert.That(lost, Is.EqualTo(600).Within(102));
            Assert.That(first, Has.Length.EqualTo(2000 - lost));
            Assert.That(Answered(7, out _), Is.EqualTo(first));
            Assert.That(Answered(8, out _), Is.Not.EqualTo(first));
        });
    }

    /// <summary>Never early; late by what a thread takes to wake: in the best of the runs, since a busy machine may stall the others.</summary>
    private static void AssertLate(string what, IEnumerable<long> tookNs, double expectedMs)
    {
        double[] lateMs = [.. tookNs.Select(ns => ns / 1e6 - expectedMs)];
        double[] medians = [.. lateMs.Chunk(lateMs.Length / Runs).Select(run => run.Order().ElementAt(run.Length / 2))];
        TestContext.Out.WriteLine(FormattableString.Invariant(
            $"{what} after {expectedMs} ms: late by median {medians.Min():0.000} to {medians.Max():0.000} a run, worst {lateMs.Max():0.000} ms of {lateMs.Length}"));
        Assert.That(lateMs.Min(), Is.GreaterThanOrEqualTo(0), $"{what}: earliest");
        Assert.That(medians.Min(), Is.LessThan(0.5), $"{what}: median lateness in ms");
    }
}

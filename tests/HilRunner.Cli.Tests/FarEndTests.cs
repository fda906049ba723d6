using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Scoring;
using HilRunner.Testing;
using HilRunner.Transport.Links;

namespace HilRunner.Cli.Tests;

/// <summary>
/// What the far end of a serial line can do to a run, against the real process. Each case ends within its limit, with its
/// cause in the record and the process gone.
/// </summary>
[Platform("Linux")]
[Parallelizable(ParallelScope.All)]
public class FarEndTests
{
    private static readonly HostClock s_clock = new(TimeProvider.System);

    // A board that only takes samples and reports classes; silence is ended after 2 s, where a case does not say otherwise.
    private const string Rig = """
        rig: far-end
        device:
          link: {pty: PORT}
          framing: lines
          hears:
            begin: "begin {rate_mhz}"
            sample: "s {n} {ax} {ay} {az}"
            end: "end"
          says:
            decisions: '^c (?<n>\d+) (?<class>\w+)$'
            credit: '^k (?<n>\d+)$'
          input:
            rate: 50 Hz
            channels:
              ax: {count: 1 mg, range: 8 g}
              ay: {count: 1 mg, range: 8 g}
              az: {count: 1 mg, range: 8 g}
          identity: {ask: "id", answer: '^id (?<product>\S+)$'}
        health: {silence: SILENCE}
        """;

    private const string Scenario = """
        scenario: a minute at rest
        stimulus:
          - synth: {rest: 60 s, class: resting}
        within: 5 s
        limits:
          - {measure: recognised, class: resting, at_least: 1}
        """;

    [Test]
    public void TheFarEndVanishesWhileTheHostWaits()
    {
        using var bench = new Bench();
        using var board = bench.Plug(new() { VanishAtLine = "end" });
        AssertLostForGood(bench);
    }

    [Test]
    public void TheFarEndVanishesWhileTheHostReads()
    {
        using var bench = new Bench();
        using var board = bench.Plug(new() { VanishAtSample = 1000, Chatty = true });
        AssertLostForGood(bench);
    }

    [Test]
    public void TheFarEndVanishesWhileTheHostIsHeldUpInAWrite()
    {
        using var bench = new Bench();
        using var board = bench.Plug(new() { StopReadingAtSample = 500, GiveCreditAhead = true, VanishAfterStopping = true });
        AssertLostForGood(bench);
    }

    [Test]
    public void TheFarEndNeverReadsAgain()
    {
        using var bench = new Bench();
        using var board = bench.Plug(new() { StopReadingAtSample = 500, GiveCreditAhead = true });
        var (code, run) = bench.Run();
        Assert.That(
            code, Is.EqualTo(3), "device or link takes nothing more, and nothing shows which: the rig does not come back");
        Assert.That(run.EndCause, Is.EqualTo("no_answer"));
    }

    [Test]
    public void TheFarEndGivesNoMoreCredit()
    {
        using var bench = new Bench();
        using var board = bench.Plug(new() { NoCreditFromSample = 500 });
        var (code, run) = bench.Run();
        Assert.That(code, Is.EqualTo(2), "it answers: samples or credit may have been lost on the way");
        Assert.That(run.EndCause, Is.EqualTo("silent"));
    }

    [Test]
    public void TheFarEndFloods()
    {
        // While it floods it says nothing else, and how long that takes is this machine's affair.
        using var bench = new Bench(silence: "30 s");
        using var board = bench.Plug(new() { FloodBytes = 20_000_000 });
        var (code, run) = bench.Run();
        Assert.That(run.EndCause, Is.EqualTo("completed"));
        Assert.That(code, Is.Zero, "what it said of the motion between the flood is right");
        Assert.That(new FileInfo(Path.Combine(bench.LastRun, RunFiles.Capture)).Length, Is.GreaterThan(20_000_000), "every byte is kept");
    }

    [Test]
    public void TheFarEndComesBackUnderAnotherName()
    {
        // A board that this machine gives no time to answer a question makes its run inconclusive, as it should: it is plugged in
        // anew.
        for (int attempt = 1; ; attempt++)
        {
            using var bench = new Bench();
            using var first = bench.Plug(new() { VanishAtSample = 1000 });
            Board? second = null;
            first.Gone += () => second = bench.Plug(new());
            var (code, run) = bench.Run();
            second?.Dispose();
            Assert.That(run.EndCause, Is.EqualTo("completed"));
            Assert.That(bench.Runs, Has.Length.EqualTo(2), "the lost run stays in the record");
            if (code == 2 && attempt < 3 && File.ReadAllText(Path.Combine(bench.LastRun,
                RunFiles.Score)).Contains("questions were not answered", StringComparison.Ordinal)) { continue; }
            Assert.That(code, Is.Zero, "the run was played again on the port that came back, and passed");
            return;
        }
    }

    [Test]
    public void NobodyAnswers()
    {
        using var bench = new Bench();
        using var board = bench.Plug(new() { Mute = true });
        var (code, run) = bench.Run();
        Assert.That(code, Is.EqualTo(3), "the rig could not be brought back");
        Assert.That(run.EndCause, Is.EqualTo("no_answer"));
        using var score = File.OpenRead(Path.Combine(bench.LastRun, RunFiles.Score));
        Assert.That(ScoreJson.Read(score).Verdict, Is.EqualTo(Verdict.Inconc), "a wrong rig file looks the same: nobody's fault yet");
    }

    [Test]
    public void ThereIsNoPort()
    {
        using var bench = new Bench();
        var (code, run) = bench.Run();
        Assert.That(code, Is.EqualTo(3));
        Assert.That(run.EndCause, Is.EqualTo("not_opened"));
    }

    /// <summary>The run that lost its link is nobody's fault and stays in the record; playing it again finds no port.</summary>
    private static void AssertLostForGood(Bench bench)
    {
        var (code, last) = bench.Run();
        Assert.That(code, Is.EqualTo(3), "the rig could not be set up again");
        Assert.That(last.EndCause, Is.EqualTo("not_opened"));
        string first = bench.Runs[0];
        Assert.That(RunManifestFile.Read(Path.Combine(first, RunFiles.Manifest)).EndCause, Is.EqualTo("link_lost"));
        using var score = File.OpenRead(Path.Combine(first, RunFiles.Score));
        Assert.That(ScoreJson.Read(score).Verdict, Is.EqualTo(Verdict.Inconc));
    }

    /// <summary>A rig file, a scenario and a port name that can be plugged and unplugged.</summary>
    private sealed class Bench : IDisposable
    {
        private static readonly TimeSpan s_limit = TimeSpan.FromSeconds(40);
        private readonly TemporaryFolder _folder = TestPaths.NewFolder("far-end");

        public Bench(string silence = "2 s")
        {
            File.WriteAllText(
                _folder.File("rig.yaml"),
                Rig.Replace("PORT", _folder.File("port"), StringComparison.Ordinal)
                .Replace("SILENCE", silence, StringComparison.Ordinal));
            File.WriteAllText(_folder.File("rest.yaml"), Scenario);
        }

        public string[] Runs => [.. Directory.GetDirectories(Directory.GetDirectories(_folder.File("runs")).Single()).Order(StringComparer.Ordinal)];

        public string LastRun => Runs[^1];

        public Board Plug(Habits habits)
        {
            var host = PtyHost.Create(s_clock);
            File.Delete(_folder.File("port"));
            File.CreateSymbolicLink(_folder.File("port"), host.Path);
            return new Board(host, habits, unplugged: () => File.Delete(_folder.File("port")));
        }

        public (int Code, RunManifest Last) Run()
        {
            using var process = Hil.Start("run", _folder.File("rest.yaml"), "--rig", _folder.File("rig.yaml"), "--out", _folder.File("runs"));
            var result = Hil.End(process, s_limit);
            TestContext.Out.WriteLine(result.Output + result.Errors);
            return (result.Code, RunManifestFile.Read(Path.Combine(LastRun, RunFiles.Manifest)));
        }

        public void Dispose() => _folder.Dispose();
    }

    /// <summary>What a board does wrong, by sample number; all off by default.</summary>
    private sealed record Habits
    {
        public string? VanishAtLine { get; init; }
        public int? VanishAtSample { get; init; }
        public bool Chatty { get; init; }
        public int? StopReadingAtSample { get; init; }
        public bool GiveCreditAhead { get; init; }
        public bool VanishAfterStopping { get; init; }
        public int? NoCreditFromSample { get; init; }
        public int FloodBytes { get; init; }
        public bool Mute { get; init; }
    }

    /// <summary>A board in the hand of the test: it reports resting, and has habits.</summary>
    private sealed class Board : ILinkReceiver, IDisposable
    {
        private static readonly TimeSpan s_write = TimeSpan.FromSeconds(20);
        private readonly PtyHost _host;
        private readonly Habits _habits;
        private readonly Action _unplugged;
        private readonly StringBuilder _line = new();
        private readonly ManualResetEventSlim _over = new();
        private int _seen;

        public Board(PtyHost host, Habits habits, Action unplugged)
        {
            _host = host;
            _unplugged = unplugged;
            _habits = habits;
            host.Start(this);
        }

        public event Action? Gone;

        public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
        {
            foreach (byte b in bytes)
            {
                if (b != '\n') { _line.Append((char)b); continue; }
                string line = _line.ToString();
                _line.Clear();
                if (!_over.IsSet && !_habits.Mute) { OnLine(line); }
            }
        }

        public void OnLost(LinkException cause, HostTime at) => _over.Set();

        public void Dispose()
        {
            _over.Set();
            _host.Dispose();
        }

        private void OnLine(string line)
        {
            if (line == _habits.VanishAtLine) { Vanish(); }
            else if (line == "id") { Say("id board\n"); }
            else if (line.StartsWith("begin", StringComparison.Ordinal))
            {
                _seen = 0;
                Say(_habits.GiveCreditAhead ? "k 1000000\n" : "");
            }
            else if (line.StartsWith("s ", StringComparison.Ordinal)) { OnSample(_seen++); }
        }

        private void OnSample(int n)
        {
            if (n == _habits.VanishAtSample) { Vanish(); return; }
            if (n == 10) { Say($"c {n} resting\n"); }
            if (_habits.Chatty) { Say($"debug {n} {new string('x', 200)}\n"); }
            if (n == 20 && _habits.FloodBytes > 0) { Flood(); }
            if (n % 10 == 9 && !(n >= _habits.NoCreditFromSample)) { Say($"k {n}\n"); }
            if (n == 2999) { Say($"k {n}\n"); }
            if (n == _habits.StopReadingAtSample)
            {
                // The reader thread of this end is held here: nothing is read any more, the terminal's buffer fills up.
                if (_habits.VanishAfterStopping) { _over.Wait(500); Vanish(); }
                else { _over.Wait(); }
            }
        }

        private void Flood()
        {
            var random = new Random(1);
            var noise = new byte[4096];
            for (int sent = 0; sent < _habits.FloodBytes; sent += noise.Length)
            {
                random.NextBytes(noise);
                noise[^1] = (byte)'\n';
                _host.Write(noise, s_write);
            }
        }

        private void Vanish()
        {
            _over.Set();
            // Not on this thread: it is the one that the host would wait for.
            new Thread(() =>
            {
                _unplugged();
                _host.Vanish();
                Gone?.Invoke();
            }).Start();
        }

        private void Say(string text)
        {
            if (text.Length > 0) { _host.Write(Encoding.ASCII.GetBytes(text), s_write); }
        }
    }
}

using HilRunner.Core.Links;
using HilRunner.Core.Shakers;
using HilRunner.Core.Time;
using HilRunner.Device.Shaking;
using HilRunner.Engine.Shaking;
using HilRunner.Transport.Links;

namespace HilRunner.Engine.Tests.Shaking;

/// <summary>Motions played into the simulated table over a real pty, position by position, in real time.</summary>
[Parallelizable(ParallelScope.All)]
public class StreamDriveTests
{
    private const double RestG = 0.02;
    private static readonly Envelope s_envelope = new() { Displacement = 0.01, Velocity = 0.5, PeakG = 2, Jerk = 1500, RampGPerS = 1, FromHz = 2, ToHz = 100, Longest = TimeSpan.FromSeconds(30), Rest = TimeSpan.FromSeconds(1) };
    private static readonly SampleRate s_rate = new(1_000_000);
    private static readonly TableMotion s_motion = Motion(t => 0.3 * Math.Sin(2 * Math.PI * 16 * t), 2);

    [Test]
    public async Task TheTableMakesTheMotionAndMeasuresItAtEveryPosition()
    {
        using var bench = new Bench(new());
        bench.Session.Arm();
        double[] measured = await bench.Drive.PlayAsync(new(s_motion), null, null, default).ConfigureAwait(false);
        double[] told = s_motion.ToldG();
        Assert.That(measured, Has.Length.EqualTo(told.Length));
        var response = TableResponse.Of(told, measured, 1000, 1024)!;
        // At 16 Hz a second-order table of 120 Hz and half of critical damping: gain 1.0088, phase −7.73°, from its equation.
        int k = (int)Math.Round(16 / response.StepHz);
        Assert.That(response.Transfer[k].Magnitude, Is.EqualTo(1.0088).Within(0.02));
        Assert.That(response.Transfer[k].Phase * 180 / Math.PI, Is.EqualTo(-7.73).Within(1.5));
        Assert.That(bench.Session.Tripped, Is.Null);
        // And once more: it is armed and at rest.
        await bench.Drive.PlayAsync(new(s_motion), null, null, default).ConfigureAwait(false);
        bench.Session.Stop();
        bench.AssertAtRest();
    }

    [TestCase("interlock", "interlock: it was stopped")]
    [TestCase("limit", "limit: it was stopped")]
    [TestCase("hot", "hot: it was stopped")]
    [TestCase("lost", "")]
    [TestCase("silent", "")]
    [TestCase("wrong", "")]
    [TestCase("runaway", "it was stopped")]
    public async Task WhateverFailsTheTableRests(string fault, string said)
    {
        var after = TimeSpan.FromMilliseconds(1200);
        using var bench = new Bench(fault switch
        {
            "interlock" => new() { InterlockAfter = after }, "limit" => new() { LimitAfter = after }, "hot" => new() { HotAfter = after }, "lost" => new() { LostAfter = after },
            "silent" => new() { SilentAfter = after }, "wrong" => new() { WrongAfter = after }, _ => new() { RunawayAfter = after },
        });
        bench.Session.Arm();
        var fell = Assert.ThrowsAsync<ShakerException>(() => bench.Drive.PlayAsync(new(s_motion), null, null, default));
        Assert.That(fell!.Message, Does.Contain(said));
        await bench.AwaitRestAsync(byWatchdog: true).ConfigureAwait(false);
        Assert.That(() => bench.Session.BeginStream(new(s_motion)), Throws.TypeOf<ShakerException>(), "it does not begin again");
    }

    /// <summary>It jams: what it measures is not what it was told, and says so afterwards.</summary>
    [Test]
    public async Task AStuckTableIsFoundByWhatItMeasured()
    {
        using var bench = new Bench(new() { StuckAfter = TimeSpan.FromMilliseconds(1200) });
        bench.Session.Arm();
        double[] measured;
        try { measured = await bench.Drive.PlayAsync(new(s_motion), null, null, default).ConfigureAwait(false); }
        catch (ShakerException) { measured = bench.Session.Streamed.MeasuredG; }
        var record = new TableRecord("z", "none", 2, 100, 1, 0, 1000, 0, 1, false, new(0, 0, 0, [], []), [], null, [], bench.Session.Tripped?.Message);
        Assert.That(TableOutcome.Of(record, 0, s_motion.ToldG().AsSpan(0, measured.Length), measured).Faults, Is.Not.Empty);
        await bench.AwaitRestAsync().ConfigureAwait(false);
    }

    /// <summary>
    /// A controller that says nothing of each position has its status alone: a table that jams is seen by that.
    /// </summary>
    [Test]
    public async Task AStuckTableIsSeenByItsStatusWhereNothingIsSaidOfPositions()
    {
        var motion = Motion(t => 0.3 * Math.Sin(2 * Math.PI * 16 * t), 12);
        using var good = new Bench(new(), credit: @"^cr (?<n>\d+)");
        good.Session.Arm();
        await good.Drive.PlayAsync(new(motion), null, null, default).ConfigureAwait(false);
        Assert.That((good.Session.Tripped, good.Session.Streamed.MeasuredG.Length), Is.EqualTo(((ShakerException?)null, 0)));
        using var bench = new Bench(new() { StuckAfter = TimeSpan.FromSeconds(3) }, credit: @"^cr (?<n>\d+)");
        bench.Session.Arm();
        var fell = Assert.ThrowsAsync<ShakerException>(() => bench.Drive.PlayAsync(new(motion), null, null, default));
        Assert.That(fell!.Message, Does.Contain("does the sensor measure, and the table move?").Or.Contain("it moves with"));
        await bench.AwaitRestAsync().ConfigureAwait(false);
    }

    /// <summary>A controller that counts what was never sent has lost its place, or is not the one that is described.</summary>
    [Test]
    public async Task CreditForMoreThanWasSentStopsIt()
    {
        using var bench = new Bench(new());
        bench.Session.Arm();
        bench.Session.BeginStream(new(s_motion));
        bench.Session.Feed(s_motion);
        bench.Session.Go();
        bench.Say("cr 1000000");
        Assert.That(() => bench.Session.Tripped?.Message,
            Does.Match(@"it says that it has played 10\d+ positions, and \d+ were sent").After(3000, 20));
        await bench.AwaitRestAsync().ConfigureAwait(false);
        Assert.That(() => bench.Session.Feed(s_motion), Throws.TypeOf<ShakerException>(), "nothing more is sent");
    }

    /// <summary>The host's feeding thread hangs while its heartbeat lives: the buffer runs dry.</summary>
    [Test]
    public async Task WithoutFurtherPositionsItComesToRestSoftly()
    {
        using var bench = new Bench(new());
        bench.Session.Arm();
        bench.Session.BeginStream(new(s_motion));
        Assert.That(bench.Session.Feed(s_motion), Is.False, "the buffer is smaller than the motion");
        bench.Session.Go();
        Assert.That(() => bench.Session.Tripped?.Message, Does.Contain("fault: it was stopped").After(3000, 20));
        await bench.AwaitRestAsync().ConfigureAwait(false);
    }

    [Test]
    public void InterruptedItComesToRestAtOnce()
    {
        using var bench = new Bench(new());
        bench.Session.Arm();
        using var stop = new CancellationTokenSource(1500);
        Assert.That(async () => await bench.Drive.PlayAsync(new(s_motion), null, null, stop.Token).ConfigureAwait(false),
            Throws.InstanceOf<OperationCanceledException>());
        bench.Session.Stop();
        bench.AssertAtRest();
    }

    /// <summary>A rig file that says more room than there is: positions that were left out would be a jump.</summary>
    [Test]
    public async Task PositionsThatAreRefusedStopIt()
    {
        using var bench = new Bench(new(), buffer: 5000);
        bench.Session.Arm();
        var fell = Assert.ThrowsAsync<ShakerException>(() => bench.Drive.PlayAsync(new(s_motion), null, null, default));
        Assert.That(fell!.Message, Does.Contain("positions were refused: no p: full"));
        await bench.AwaitRestAsync().ConfigureAwait(false);
    }

    /// <summary>Motions that no builder made: nothing of them is sent.</summary>
    [TestCase(20_000_000, "mm, more than")]
    [TestCase(100, "towards its end")]
    public void WhatIsOutsideTheEnvelopeIsNotBegun(long nm, string why)
    {
        using var bench = new Bench(new());
        bench.Session.Arm();
        Assert.That(() => bench.Session.BeginStream(new(new(s_rate, [.. Enumerable.Repeat(0L, 100), nm], 0))),
            Throws.TypeOf<ShakerException>().With.Message.Contains(why));
        Assert.That(() => bench.Session.BeginStream(new(s_motion with { Rate = new(500_000) })),
            Throws.TypeOf<ShakerException>());
        bench.Session.Stop();
        bench.AssertAtRest();
    }

    [Test]
    public async Task ASineWhilePositionsArePlayedStopsIt()
    {
        using var bench = new Bench(new());
        bench.Session.Arm();
        var playing = bench.Drive.PlayAsync(new(s_motion), null, null, default);
        Assert.That(() => bench.Session.Streamed.Played, Is.GreaterThan(500).After(5000, 10));
        Assert.That(() => bench.Session.Move(new(16, 0.01)), Throws.TypeOf<ShakerException>().With.Message.Contains("a sine while positions are played"));
        Assert.That(async () => await playing.ConfigureAwait(false), Throws.TypeOf<ShakerException>());
        await bench.AwaitRestAsync().ConfigureAwait(false);
    }

    [Test]
    public async Task WhatIsLongerThanItMayMoveIsNotBegun()
    {
        using var bench = new Bench(new(), s_envelope with { Longest = TimeSpan.FromSeconds(5), Rest = TimeSpan.FromSeconds(20) });
        bench.Session.Arm();
        await bench.Drive.PlayAsync(new(s_motion), null, null, default).ConfigureAwait(false);
        Assert.That(() => bench.Session.BeginStream(new(s_motion)),
            Throws.TypeOf<ShakerException>().With.Message.Contains("it must rest"));
        await bench.AwaitRestAsync().ConfigureAwait(false);
    }

    private static TableMotion Motion(Func<double, double> g, double seconds)
    {
        var built = MotionBuilder.Build([.. Enumerable.Range(0, (int)(seconds * 1000)).Select(k => g(k / 1000.0))], s_rate, s_envelope, s_rate, MotionFit.None);
        return built.Outside is null ? built.Motion : throw new InvalidOperationException(built.Outside);
    }

    /// <summary>The table's end of a pty, looked after every millisecond, and the host's.</summary>
    private sealed class Bench : IDisposable
    {
        private readonly HostClock _clock = new(TimeProvider.System);
        private readonly PtyHost _end;
        private readonly SimulatedTable _table;
        private readonly ManualResetEventSlim _over = new();
        private readonly Thread _looks;
        private readonly TimeSpan _watchdog;

        /// <param name="answerMs">Limit of an answer, and the watchdog: on a busy machine both ends may be held up for a quarter
        /// of a second.</param>
        public Bench(SimulatedTableOptions options, Envelope? envelope = null, int buffer = 2000, int answerMs = 1000,
            string credit = @"^cr (?<n>\d+)(?<g>( -?[\d.]+)*)$")
        {
            _watchdog = TimeSpan.FromMilliseconds(answerMs);
            options = options with { Watchdog = options.Watchdog is null ? null : _watchdog };
            _end = PtyHost.Create(_clock);
            _table = new(options, _clock.Now);
            var controller = new TableController(_table, options, _end);
            controller.Start();
            // A thread of its own, as a controller is a machine of its own.
            _looks = new Thread(() => { while (!_over.Wait(1)) { controller.Look(_clock.Now); } }) { IsBackground = true };
            _looks.Start();
            var shaker = new Shaker
            {
                Link = new PtyLinkSpec(_end.Path), Axis = new('z'), Up = new('z'), Watchdog = _watchdog, Answer = _watchdog,
                    Heartbeat = TimeSpan.FromMilliseconds(50),
                Hears = new("id", "arm", "sine {hz} {mm}", "stop", "status"),
                Says = new("^id simulated-table", "^ok", "^no (?<why>.*)$", @"^st (?<state>\w+) (?<mm>\S+) (?<g>\S+)$", new Dictionary<string, TableState>
                {
                    ["resting"] = TableState.Resting, ["armed"] = TableState.Armed, ["moving"] = TableState.Moving, ["stopping"] = TableState.Stopping, ["interlock"] = TableState.Interlock, ["limit"] = TableState.Limit, ["hot"] = TableState.Hot, ["fault"] = TableState.Fault,
                }),
                Envelope = envelope ?? s_envelope,
                Stream = new(s_rate, buffer, 20, "stream {hz}", "p {mm}", "go", "end", credit),
            };
            Session = new(shaker, new LinkOpener(_clock, _ => throw new InvalidOperationException()).Open, _clock, _ => { });
            Drive = new(Session, _clock);
        }

        /// <summary>A line of the controller's that it would not say.</summary>
        public void Say(string line) => _end.Write(System.Text.Encoding.ASCII.GetBytes(line + "\n"), TimeSpan.FromSeconds(1));

        public ShakerSession Session { get; }

        public StreamDrive Drive { get; }

        public void AssertAtRest() => Assert.That(Math.Abs(_table.Truth(_clock.Now).G), Is.LessThan(RestG));

        /// <summary>Ramp and what it rings on; where the host can say nothing any more, the watchdog as well.</summary>
        public async Task AwaitRestAsync(bool byWatchdog = false)
        {
            await Task.Delay(TimeSpan.FromMilliseconds(byWatchdog ? _watchdog.TotalMilliseconds + 450 : 700))
                .ConfigureAwait(false);
            for (int i = 0; i < 50; i++)
            {
                AssertAtRest();
                await Task.Delay(2).ConfigureAwait(false);
            }
        }

        public void Dispose()
        {
            Session.Dispose();
            _over.Set();
            _looks.Join();
            _end.Dispose();
            _over.Dispose();
        }
    }
}

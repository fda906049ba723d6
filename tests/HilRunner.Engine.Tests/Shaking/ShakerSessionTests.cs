using System.Collections.Concurrent;
using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Shakers;
using HilRunner.Core.Time;
using HilRunner.Engine.Shaking;

namespace HilRunner.Engine.Tests.Shaking;

/// <summary>What reaches a controller, line by line, and what becomes of its answers.</summary>
public class ShakerSessionTests
{
    private static readonly Shaker s_shaker = new()
    {
        Link = new PtyLinkSpec("/dev/null"), Axis = new('z'), Up = new('z'), Watchdog = TimeSpan.FromMilliseconds(300), Answer = TimeSpan.FromMilliseconds(300), Heartbeat = TimeSpan.FromMilliseconds(50),
        Hears = new("id", "arm", "sine {hz} {mm}", "stop", "status"),
        Says = new("^id my-table", "^ok", "^no (?<why>.*)$", @"^st (?<state>\w+) (?<g>\S+)$", new Dictionary<string, TableState> { ["resting"] = TableState.Resting, ["armed"] = TableState.Armed, ["moving"] = TableState.Moving, ["guard"] = TableState.Interlock }),
        Envelope = new() { Displacement = 0.01, Velocity = 0.5, PeakG = 2, Jerk = 1500, RampGPerS = 50, FromHz = 2, ToHz = 100, Longest = TimeSpan.FromMinutes(1), Rest = TimeSpan.FromSeconds(1) },
    };

    [Test]
    public void A_sine_is_written_as_the_rig_says_and_no_larger()
    {
        using var controller = new Controller();
        using var session = Armed(controller);
        controller.Wait();
        session.Move(new(16, 0.1));
        // 0.1 g at 16 Hz: 0.980665/(32π)² m = 0.0970333… mm, cut after six digits.
        Assert.That(controller.Heard.Last(l => l.StartsWith("sine", StringComparison.Ordinal)), Is.EqualTo("sine 16 0.097033"));
        Assert.That(session.Tripped, Is.Null);
    }

    [TestCase(16, 2.5)]
    [TestCase(120, 0.1)]
    [TestCase(2, 0.5)]
    [TestCase(16, double.NaN)]
    [TestCase(16, -0.1)]
    public void Nothing_outside_the_envelope_is_written(double hz, double g)
    {
        using var controller = new Controller();
        using var session = Armed(controller);
        controller.Wait();
        Assert.That(() => session.Move(new(hz, g)), Throws.TypeOf<ShakerException>().With.Message.Contains("not sent"));
        Assert.That(controller.Heard, Has.None.StartsWith("sine"));
        Assert.That(controller.Heard, Has.Some.EqualTo("stop"));
        Assert.That(() => session.Move(new(16, 0.05)), Throws.TypeOf<ShakerException>(), "it does not begin again");
    }

    [TestCase("sine", "no too hot", "was refused: too hot")]
    [TestCase("sine", "#!", "which its description does not have")]
    [TestCase("sine", null, "no answer to sine")]
    [TestCase("status", "st guard 0.1", "guard: it was stopped")]
    [TestCase("status", "st dancing 0.1", "a state that says.states does not have")]
    [TestCase("status", "st moving much", "no number for g")]
    [TestCase("status", "st moving 0.9", "it moves with 0.9 g, wanted 0.05 g")]
    [TestCase("status", "st resting 0", "was told to move")]
    [TestCase("status", null, "no answer to status")]
    public void Whatever_it_answers_wrongly_stops_it(string line, string? answer, string said)
    {
        using var controller = new Controller();
        using var session = Armed(controller);
        controller.Wait();
        if (line == "sine") { controller.Answers["sine"] = answer; }
        try { session.Move(new(16, 0.05)); } catch (ShakerException) when (line == "sine") { }
        if (line != "sine") { controller.Answers[line] = answer; }
        Assert.That(() => session.Tripped?.Message, Does.Contain(said).After(5_000, 20));
        Assert.That(() => controller.Heard[^1], Is.EqualTo("stop").After(2_000, 20), "the last word");
        Assert.That(() => session.Move(new(16, 0.05)), Throws.TypeOf<ShakerException>());
    }

    /// <summary>Asked or unasked: what is cut would be taken for another answer, or for fewer positions.</summary>
    [TestCase("status")]
    [TestCase("cr")]
    public void A_line_without_end_stops_it_and_is_not_cut(string begins)
    {
        using var controller = new Controller();
        using var session = Armed(controller);
        controller.Wait();
        session.Move(new(16, 0.05));
        string line = $"st moving 0.05 {new string('7', LineTalk.LongestLine)}";
        if (begins == "status") { controller.Answers["status"] = line; }
        else { controller.Say($"cr 17 {line}"); }
        Assert.That(() => session.Tripped?.Message,
            Does.Contain("a line of more than 65536 characters, which begins with").After(5_000, 20));
        Assert.That(() => controller.Heard[^1], Is.EqualTo("stop").After(2_000, 20), "the last word");
    }

    [Test]
    public void A_lost_link_is_told_and_nothing_more_is_written()
    {
        using var controller = new Controller();
        using var session = Armed(controller);
        controller.Wait();
        session.Move(new(16, 0.05));
        controller.Lose();
        Assert.That(() => session.Tripped?.Message, Does.Contain("unplugged").After(5_000, 20));
    }

    [TestCase("st moving 0", "not at rest")]
    [TestCase("st guard 0", "not at rest")]
    [TestCase("st resting 0.3", "does something else move it?")]
    public void It_is_armed_only_at_rest(string status, string said)
    {
        using var controller = new Controller();
        controller.Answers["status"] = status;
        using var session = new ShakerSession(s_shaker, _ => controller, new(TimeProvider.System), _ => { });
        Assert.That(session.Arm, Throws.TypeOf<ShakerException>().With.Message.Contains(said));
        Assert.That(controller.Heard, Has.None.EqualTo("arm"));
        Assert.That(session.WasArmed, Is.False);
    }

    [Test]
    public void Another_instrument_is_not_spoken_to_any_further()
    {
        using var controller = new Controller();
        controller.Answers["id"] = "id bench supply";
        using (var session = new ShakerSession(s_shaker, _ => controller, new(TimeProvider.System), _ => { }))
        {
            Assert.That(session.Identify, Throws.TypeOf<ShakerException>().With.Message.Contains("is it the right instrument?"));
        }
        Assert.That(controller.Heard, Is.EqualTo(new[] { "id" }));
    }

    [Test]
    public void A_stop_waits_for_rest_and_says_so_when_there_is_none()
    {
        using var controller = new Controller();
        using var session = Armed(controller);
        controller.Answers["status"] = "st moving 0.4";
        Assert.That(session.Stop, Throws.TypeOf<ShakerException>().With.Message.Contains("cut its power"));
    }

    private static ShakerSession Armed(Controller controller)
    {
        var session = new ShakerSession(s_shaker, _ => controller, new(TimeProvider.System), _ => { });
        session.Arm();
        return session;
    }

    /// <summary>Answers each line at once, as it is told to.</summary>
    private sealed class Controller : ILink
    {
        private readonly List<string> _heard = [];
        private ILinkReceiver? _receiver;
        private bool _lost;

        /// <summary>First word → answer; null: none.</summary>
        public ConcurrentDictionary<string, string?> Answers { get; } = new() { ["id"] = "id my-table 1", ["arm"] = "ok", ["stop"] = "ok" };
        public IReadOnlyList<string> Heard { get { lock (_heard) { return [.. _heard]; } } }
        public string Name => "controller";

        public void Start(ILinkReceiver receiver) => _receiver = receiver;

        public void Lose()
        {
            _lost = true;
            _receiver!.OnLost(new(LinkFault.Lost, "unplugged"), default);
        }

        public void Say(string line) => _receiver!.OnReceived(Encoding.ASCII.GetBytes(line + "\n"), default);

        /// <summary>Long enough for a first step.</summary>
        public void Wait() => SpinWait.SpinUntil(() => Heard.Count(l => l == "status") > 3, TimeSpan.FromSeconds(5));

        public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit)
        {
            if (_lost) { throw new LinkException(LinkFault.Lost, "unplugged"); }
            string line = Encoding.ASCII.GetString(bytes).TrimEnd('\n'), word = line.Split(' ')[0];
            lock (_heard) { _heard.Add(line); }
            string? answer = Answers.TryGetValue(word, out string? told) ? told : word == "status" ? Heard.Any(l => l.StartsWith("sine", StringComparison.Ordinal)) ? "st moving 0.05" : Heard.Contains("arm") ? "st armed 0" : "st resting 0" : "ok";
            if (answer is not null) { Say(answer); }
            return default;
        }

        public void Dispose()
        {
        }
    }
}

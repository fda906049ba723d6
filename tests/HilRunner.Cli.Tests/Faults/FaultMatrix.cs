using System.Diagnostics;
using System.Globalization;
using System.Text.RegularExpressions;
using HilRunner.Core.Capture;
using HilRunner.Core.Links;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Scoring;
using HilRunner.Testing;
using HilRunner.Transport.Capture;

namespace HilRunner.Cli.Tests.Faults;

internal enum Fault { Unplug, Reset, Hang, Garbage, NoCredit, NoAnswer, PortTaken, TakenWhenReplugged, DiskFull, ClockForward, ClockBack, Terminate, Interrupt, Kill }

internal sealed record FaultCase(Fault Fault, Phase Phase, int Seed)
{
    public override string ToString() => $"{Fault} in {Phase}, seed {Seed}";
}

/// <summary>What a case must come to; where it hangs on the instant, one of several.</summary>
[Flags]
internal enum Outcomes
{
    /// <summary>Both scenarios pass, each played once.</summary>
    Undisturbed = 1,
    /// <summary>Both pass; a run that was spoiled says why, and was played again.</summary>
    PlayedAgain = 2,
    /// <summary>The first fails, for the device; the second passes.</summary>
    DevicesFault = 4,
    /// <summary>Ends with 130 (143 and 137 where nothing could be said), and goes on when it is resumed.</summary>
    Interrupted = 8,
    /// <summary>Ends with 3 and says how much room is needed; goes on when it is resumed.</summary>
    NoRoom = 16,
}

/// <summary>One fault at one instant of a night of two scenarios, against the real process and a real device; and what is left behind.</summary>
internal static class FaultMatrix
{
    private const int Samples = 900;
    private static readonly HostClock s_clock = new(TimeProvider.System);
    private static readonly TimeSpan s_look = TimeSpan.FromMilliseconds(20);
    private static readonly TimeSpan s_limit = TimeSpan.FromSeconds(60);
    private static readonly Lazy<string> s_movedClock = new(BuildMovedClock);

    /// <summary>As the table in scenarios/NIGHT.md says, which is held to it.</summary>
    public static Outcomes Expected(Fault fault, Phase phase) => fault switch
    {
        Fault.Unplug or Fault.TakenWhenReplugged => phase switch { Phase.Prepare => Outcomes.Undisturbed | Outcomes.PlayedAgain, Phase.Scoring => Outcomes.Undisturbed | Outcomes.PlayedAgain, _ => Outcomes.PlayedAgain },
        Fault.Reset => phase switch { Phase.Playout => Outcomes.DevicesFault, Phase.Drain => Outcomes.DevicesFault | Outcomes.Undisturbed, _ => Outcomes.Undisturbed },
        Fault.Hang => phase switch { Phase.Sync or Phase.Playout => Outcomes.DevicesFault, Phase.Drain => Outcomes.DevicesFault | Outcomes.PlayedAgain, _ => Outcomes.PlayedAgain },
        Fault.Garbage => phase switch { Phase.Playout or Phase.Drain => Outcomes.PlayedAgain, Phase.Identify => Outcomes.Undisturbed | Outcomes.PlayedAgain, _ => Outcomes.Undisturbed },
        Fault.NoCredit =>
            phase switch { Phase.Identify or Phase.Sync or Phase.Playout => Outcomes.PlayedAgain, Phase.Drain =>
                Outcomes.PlayedAgain | Outcomes.Undisturbed, _ => Outcomes.Undisturbed },
        Fault.NoAnswer => phase == Phase.Identify ? Outcomes.PlayedAgain : Outcomes.Undisturbed,
        Fault.PortTaken => phase == Phase.Prepare ? Outcomes.PlayedAgain : Outcomes.Undisturbed,
        Fault.DiskFull => Outcomes.NoRoom,
        Fault.ClockForward or Fault.ClockBack => Outcomes.Undisturbed,
        _ => Outcomes.Interrupted,
    };

    /// <param name="power">Switches a device on.</param>
    /// <param name="rig">The rig file of such a device, with its own link.</param>
    public static void Play(FaultCase fault, Func<ILink> power, string rig, IReadOnlyList<string> undisturbed)
    {
        using var folder = TestPaths.NewFolder("fault");
        var random = new Random(HashCode.Combine((int)fault.Fault, (int)fault.Phase) ^ fault.Seed);
        using var disk = fault.Fault == Fault.DiskFull ? new SmallDisk(folder.File("out")) : null;
        string begun = folder.File("begun"), struck = folder.File("struck");
        // A step that lasts until the fault has struck, however long this machine takes to get there.
        WriteNight(folder, rig, fault.Phase == Phase.Prepare
            ? $"[sh, -c, 'touch {begun}; while [ ! -e {struck} ]; do sleep 0.02; done']" : "['true']");
        string mark = Guid.NewGuid().ToString("N");
        Process? process = null;
        int at = fault.Phase switch
        {
            Phase.Prepare => random.Next(50, 350),
            Phase.Identify => 0,
            Phase.Sync => random.Next(8),
            Phase.Playout => random.Next(1, Samples - 1),
            Phase.Drain => random.Next(9),
            _ => random.Next(0, 40),
        };
        bool taken = false;
        void Strike(FaultyBoard board)
        {
            switch (fault.Fault)
            {
                case Fault.Unplug: Later(() => { board.Unplug(); Thread.Sleep(300); board.Replug(); }); break;
                case Fault.TakenWhenReplugged: Later(() => { board.Unplug(); Thread.Sleep(100); board.Replug(); Hold(board.PortPath, 0.7); }); break;
                case Fault.Reset: board.PowerCycle(); break;
                case Fault.Hang: board.Hangs = true; break;
                case Fault.Garbage: board.Say(Noise(random, 20_000)); break;
                case Fault.NoCredit: board.NoCredit = true; break;
                case Fault.NoAnswer: board.NoAnswer = true; break;
                case Fault.PortTaken when fault.Phase == Phase.Prepare: HoldUntil(board.PortPath, () => WasScored(folder)); break;
                case Fault.PortTaken: taken = CanBeTaken(board.PortPath); break;
                case Fault.DiskFull: disk!.Fill(); break;
                case Fault.ClockForward: File.WriteAllText(folder.File("moved"), "3600"); break;
                case Fault.ClockBack: File.WriteAllText(folder.File("moved"), "-3600"); break;
                case Fault.Terminate: Signal(process!, "TERM"); break;
                case Fault.Interrupt: Signal(process!, "INT"); break;
                case Fault.Kill: process!.Kill(); break;
            }
        }
        using var board = new FaultyBoard(s_clock, power, folder.File("port"), folder.File("switch")) { When = (fault.Phase, at), Fault = Strike };
        process = Start(folder, mark, fault.Fault is Fault.ClockForward or Fault.ClockBack);
        if (fault.Phase == Phase.Prepare)
        {
            Hil.Await(() => File.Exists(begun) || process.HasExited, "its preparation");
            Thread.Sleep(at);
            board.Strike();
            File.WriteAllText(struck, "");
        }
        var (code, said) = End(process);
        Assert.That(board.Fired, $"the fault struck; hil ended with {code}: {said}");
        Assert.That(taken, Is.False, "nobody else could take the port");
        NothingIsLeft(mark);
        if (Expected(fault.Fault, fault.Phase) is Outcomes.Interrupted or Outcomes.NoRoom)
        {
            if (fault.Fault == Fault.DiskFull)
            {
                Assert.That(code, Is.EqualTo(3), said);
                Assert.That(
                    said, Does.Match(
                        @"hil: the disk of .* is full, with (1 run|2 runs) to go \(.*\); make room and run the same with --resume"));
                disk!.MakeRoom();
            }
            // Before the tool can listen to it, the system's own answer to SIGTERM stands.
            else if (fault is { Fault: Fault.Terminate, Phase: Phase.Prepare }) { Assert.That(code, Is.EqualTo(130).Or.EqualTo(143), said); }
            else { Assert.That(code, Is.EqualTo(fault.Fault == Fault.Kill ? 137 : 130), said); }
            using var again = Start(folder, mark, false);
            (code, said) = End(again);
            NothingIsLeft(mark);
            Assert.That(code, Is.Zero, said);
            var final = Runs(folder);
            Assert.That(final.Select(r => r.Decisions).Where(d => d.Length > 0).TakeLast(2), Is.EqualTo(undisturbed), "as if it had not been disturbed");
            if (fault.Fault != Fault.DiskFull) { NoByteIsLost(folder, board, fault); }
            return;
        }
        var runs = Runs(folder);
        string shown = said + string.Concat(runs.Select(r => $"\n{r.Name} {r.Cause} {r.Verdict} {r.Reason}"));
        var first = runs.Where(r => r.Scenario == "part 1").ToList();
        var second = runs.Where(r => r.Scenario == "part 2").ToList();
        Outcomes came = code switch
        {
            0 when runs.Count == 2 => Outcomes.Undisturbed,
            0 => Outcomes.PlayedAgain,
            1 => Outcomes.DevicesFault,
            _ => 0,
        };
        Assert.That(Expected(fault.Fault, fault.Phase).HasFlag(came) && came != 0, $"{came}, expected {Expected(fault.Fault, fault.Phase)}: {shown}");
        Assert.That(second[^1].Verdict, Is.EqualTo(Verdict.Pass), "the next scenario passes: " + shown);
        Assert.That(second[^1].Decisions, Is.EqualTo(undisturbed[1]));
        if (came == Outcomes.DevicesFault)
        {
            Assert.That(first[^1].Verdict, Is.EqualTo(Verdict.Fail), shown);
            Assert.That(first[^1].Reason, Does.Match("reset|silent|silence|stopped taking|consumed|missed"), shown);
        }
        else { Assert.That(first[^1].Decisions, Is.EqualTo(undisturbed[0]), shown); }
        foreach (var spoiled in runs.Where(r => r != first[^1] && r != second[^1]))
        {
            Assert.That(spoiled.Verdict, Is.EqualTo(Verdict.Inconc).Or.EqualTo(Verdict.Error), "nobody's fault: " + shown);
            Assert.That(spoiled.Reason, Does.Match(fault.Fault switch
            {
                Fault.Garbage => "messages fit no|lines|understood|no answer|damaged|clock",
                Fault.Hang or Fault.NoAnswer => "no answer",
                Fault.NoCredit => "stopped taking samples although it answers",
                Fault.PortTaken => "in use|busy|another",
                _ => "lost|not there|no such|in use|another|port",
            }).IgnoreCase, shown);
        }
        NoByteIsLost(folder, board, fault);
    }

    /// <summary>What a device decides when nothing happens: by sample, without times.</summary>
    public static string[] Undisturbed(Func<ILink> power, string rig)
    {
        using var folder = TestPaths.NewFolder("fault");
        WriteNight(folder, rig, "['true']");
        using var board = new FaultyBoard(s_clock, power, folder.File("port"), folder.File("switch")) { When = (Phase.Prepare, -1) };
        using var process = Start(folder, "none", false);
        var (code, said) = End(process);
        Assert.That(code, Is.Zero, said);
        return [.. Runs(folder).Select(r => r.Decisions)];
    }

    /// <param name="prepare">The step before the first run.</param>
    private static void WriteNight(TemporaryFolder folder, string rig, string prepare)
    {
        MadeBelts.Write(folder, 2);
        File.WriteAllText(folder.File("suite.yaml"), "suite: belts\nscenarios: [part-*.yaml]\n");
        string text = Regex.Replace(rig, @"(?m)^  link: .*$", $"  link: {{pty: {folder.File("port")}}}");
        text = Regex.Replace(text, @"(?ms)^prepare:.*?(?=^\w)", "");
        text = Regex.Replace(text, @"(?m)^health: .*$", "health: {late: 10 s, lost: 0, lines_unknown: 0, clock: 1 s, silence: 1500 ms}");
        File.WriteAllText(folder.File("rig.yaml"),
            $"{text}\nprepare: [{prepare}]\nrecover: {{power_cycle: [{{program: touch, args: ['{folder.File("switch")}'], port: 2 s}}, [sleep, '0.3']]}}\n");
    }

    private static Process Start(TemporaryFolder folder, string mark, bool movedClock)
    {
        var start = Hil.StartInfo(
            "run", folder.File("suite.yaml"), "--rig", folder.File("rig.yaml"), "--out", folder.File("out"), "--resume");
        start.Environment["HIL_FAULT_CASE"] = mark;
        if (movedClock) { (start.Environment["LD_PRELOAD"], start.Environment["MOVED_CLOCK"]) = (s_movedClock.Value, folder.File("moved")); }
        return Process.Start(start)!;
    }

    private static (int Code, string Said) End(Process process)
    {
        var (code, output, errors) = Hil.End(process, s_limit);
        return (code, output + errors);
    }

    private sealed record Run(string Name, string Scenario, string Cause, Verdict Verdict, string Reason, string Decisions);

    private static List<Run> Runs(TemporaryFolder folder)
    {
        var runs = new List<Run>();
        foreach (string run in Directory.GetDirectories(folder.File("out"), "0*", SearchOption.AllDirectories).Order(StringComparer.Ordinal))
        {
            if (!File.Exists(Path.Combine(run, RunFiles.Manifest)) || !File.Exists(Path.Combine(run, RunFiles.Score))) { continue; }
            RunManifest manifest = RunManifestFile.Read(Path.Combine(run, RunFiles.Manifest));
            using var file = File.OpenRead(Path.Combine(run, RunFiles.Score));
            Score score = ScoreJson.Read(file);
            string decisions = score.Verdict == Verdict.Pass ? string.Join('\n', File.ReadAllLines(Path.Combine(run, RunFiles.Decisions)).Select(l => string.Join(',', l.Split(',').Take(3)))) : "";
            runs.Add(new(Path.GetFileName(run), manifest.ScenarioName, manifest.EndCause ?? "", score.Verdict, score.Reasons.FirstOrDefault() ?? "", decisions));
        }
        return runs;
    }

    /// <summary>Each stretch from plug to unplug is in the captures from its first byte on; where it was cut, or is the last, an end may be missing that was never read.</summary>
    private static void NoByteIsLost(TemporaryFolder folder, FaultyBoard board, FaultCase fault)
    {
        var captured = new List<byte>();
        // What a silent device said that was asked again stands beside the run's own capture.
        foreach (string path in Directory.GetFiles(folder.File("out"), "*.pcapng", SearchOption.AllDirectories)
            .Order(StringComparer.Ordinal))
        {
            using ICaptureReader reader = new CaptureStore().Open(path);
            while (reader.TryRead(out var record))
            {
                if (record.Kind == CaptureKind.FromDevice) { captured.AddRange(record.Bytes.Span); }
            }
        }
        byte[] kept = [.. captured];
        int from = 0, gaps = 0;
        foreach (byte[] said in board.Said)
        {
            for (int at = 0; ;)
            {
                int same = kept.AsSpan(from).CommonPrefixLength(said.AsSpan(at));
                (from, at) = (from + same, at + same);
                // What was said while no run was there to hear it, such as between a call that was ended and the next.
                int next = from == kept.Length ? -1 : said.AsSpan(at).IndexOf(kept.AsSpan(from, Math.Min(20, kept.Length - from)));
                if (next < 0) { break; }
                at += next;
                gaps++;
            }
        }
        // Noise that nobody read lies in the terminal's buffer in part.
        if (fault.Fault == Fault.Garbage) { return; }
        Assert.That(from, Is.EqualTo(kept.Length), () => $"{fault}: the captures hold what was on the line, in order and nothing else; from here not: {Shown(kept, from)}; on the line: {string.Join(" | ", board.Said.Select(s => Shown(s, 0)))}");
        Assert.That(gaps, Is.LessThanOrEqualTo(fault.Fault is Fault.Unplug or Fault.TakenWhenReplugged or Fault.Terminate or Fault.Interrupt or Fault.Kill ? 1 : 0), $"{fault}: gaps in the captures");
    }

    private static string Shown(byte[] bytes, int from) => System.Text.Encoding.ASCII.GetString(bytes.AsSpan(from, Math.Min(120, bytes.Length - from))).Replace('\n', '/');

    private static void NothingIsLeft(string mark)
    {
        var limit = Stopwatch.StartNew();
        while (true)
        {
            List<string> left = [];
            foreach (string process in Directory.GetDirectories("/proc").Where(d => int.TryParse(Path.GetFileName(d), CultureInfo.InvariantCulture, out _)))
            {
                try
                {
                    if (File.ReadAllText(Path.Combine(process, "environ")).Contains("HIL_FAULT_CASE=" + mark, StringComparison.Ordinal)) { left.Add(File.ReadAllText(Path.Combine(process, "cmdline")).Replace('\0', ' ')); }
                }
                catch (Exception gone) when (gone is IOException or UnauthorizedAccessException)
                {
                    // It has ended meanwhile.
                }
            }
            // A player whose parent was killed ends its run and goes; a program of prepare ends by itself.
            if (left.Count == 0) { return; }
            Assert.That(limit.Elapsed, Is.LessThan(TimeSpan.FromSeconds(5)), "still there: " + string.Join(", ", left));
            Thread.Sleep(20);
        }
    }

    private static void Later(Action action) => new Thread(() => action()).Start();

    private static byte[] Noise(Random random, int length)
    {
        var noise = new byte[length];
        random.NextBytes(noise);
        for (int i = 99; i < length; i += 100) { noise[i] = (byte)'\n'; }
        noise[^1] = (byte)'\n';
        return noise;
    }

    private static void Hold(string port, double seconds) =>
        Process.Start("flock", ["--exclusive", port, "sleep", seconds.ToString(CultureInfo.InvariantCulture)]).WaitForExit();

    /// <summary>Takes the port, comes back when it is taken, and lets go of it when this holds.</summary>
    private static void HoldUntil(string port, Func<bool> over)
    {
        var holder = Process.Start("flock", ["--exclusive", "--no-fork", port, "sleep", "60"]);
        Hil.Await(() => !CanBeTaken(port), "the port to be taken");
        Later(() =>
        {
            while (!over() && !holder.WaitForExit(s_look)) { }
            holder.Kill();
            holder.Dispose();
        });
    }

    private static bool WasScored(TemporaryFolder folder) =>
        Directory.Exists(folder.File("out"))
        && Directory.GetFiles(folder.File("out"), RunFiles.Score, SearchOption.AllDirectories).Length > 0;

    private static bool CanBeTaken(string port)
    {
        using var other = Process.Start("flock", ["--exclusive", "--nonblock", port, "true"]);
        other.WaitForExit();
        return other.ExitCode == 0;
    }

    private static void Signal(Process process, string signal) => Process.Start("kill", ["-" + signal, process.Id.ToString(CultureInfo.InvariantCulture)]).WaitForExit();

    private static string BuildMovedClock()
    {
        string library = Path.Combine(Directory.CreateTempSubdirectory("hil-moved-clock-").FullName, "moved_clock.so");
        using var compiler = Process.Start("gcc", ["-shared", "-fPIC", "-O2", "-Wall", "-Werror", "-o", library, Path.Combine(TestPaths.Root, "tests/HilRunner.Cli.Tests/Faults/moved_clock.c"), "-ldl"]);
        compiler.WaitForExit();
        Assert.That(compiler.ExitCode, Is.Zero);
        return library;
    }

    /// <summary>A file system in memory of 8 MB.</summary>
    private sealed class SmallDisk : IDisposable
    {
        private readonly string _path;

        public SmallDisk(string path)
        {
            _path = Directory.CreateDirectory(path).FullName;
            Run("mount", "-t", "tmpfs", "-o", "size=8m", "hil-small", _path);
        }

        public void Fill()
        {
            try
            {
                using var file = File.Create(Path.Combine(_path, "filler"));
                var block = new byte[4096];
                while (true)
                {
                    file.Write(block);
                    file.Flush();
                }
            }
            catch (IOException)
            {
                // Full.
            }
        }

        public void MakeRoom() => File.Delete(Path.Combine(_path, "filler"));

        public void Dispose() => Run("umount", _path);

        private static void Run(string program, params string[] arguments)
        {
            using var process = Process.Start(Environment.IsPrivilegedProcess ? program : "sudo", Environment.IsPrivilegedProcess ? arguments : [program, .. arguments]);
            process.WaitForExit();
            Assert.That(process.ExitCode, Is.Zero, $"{program} needs the right to mount a file system in memory");
        }
    }
}

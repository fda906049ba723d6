using System.Diagnostics;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Testing;
using HilRunner.Transport.Links;

namespace HilRunner.Transport.Tests.Links;

[TestFixture]
public sealed class ProcessLinkTests
{
    private static readonly TimeSpan Limit = TimeSpan.FromSeconds(5);
    private readonly HostClock _clock = new(TimeProvider.System);

    [Test]
    public void Cat_gives_back_every_byte()
    {
        using ProcessLink link = ProcessLink.Run(_clock, "cat", []);
        var recorder = new Recorder();
        link.Start(recorder);
        byte[] all = [.. Enumerable.Range(0, 256).Select(b => (byte)b)];
        link.Write(all, Limit);
        Assert.That(recorder.WaitForBytes(256), Is.EqualTo(all));
    }

    [Test]
    public void The_exit_code_and_the_last_words_are_in_the_cause_of_the_loss()
    {
        using ProcessLink link = ProcessLink.Run(_clock, "/usr/bin/python3", ["-c", """
            import sys
            for n in range(1000): print("line", n, file=sys.stderr)
            print("cannot find the board", file=sys.stderr)
            sys.stdout.write("abc")
            sys.exit(7)
            """]);
        var recorder = new Recorder();
        link.Start(recorder);
        LinkException cause = recorder.WaitForLoss(5);
        Assert.That(cause.Message, Does.Contain("exit code 7").And.Contain("line 999 | cannot find the board"));
        Assert.That(cause.Message, Does.Not.Contain("line 900"));
        Assert.That(recorder.Bytes, Is.EqualTo("abc"u8.ToArray()));
        var failure = Assert.Throws<LinkException>(() => link.Write([1], Limit))!;
        Assert.That(failure.Message, Does.Contain("exit code 7"));
    }

    [Test]
    public void A_killed_program_is_named_by_its_signal()
    {
        using ProcessLink link = ProcessLink.Run(_clock, "/usr/bin/python3", ["-c", "import os; os.kill(os.getpid(), 9)"]);
        var recorder = new Recorder();
        link.Start(recorder);
        Assert.That(recorder.WaitForLoss(5).Message, Does.Contain("ended by signal 9").And.Contain("nothing on stderr"));
    }

    [Test]
    public void Arguments_are_not_seen_by_a_shell()
    {
        using ProcessLink link = ProcessLink.Run(_clock, "printf", ["%s|", "a b", "$HOME", "*", "; echo x"]);
        var recorder = new Recorder();
        link.Start(recorder);
        recorder.WaitForLoss(5);
        Assert.That(recorder.Bytes, Is.EqualTo("a b|$HOME|*|; echo x|"u8.ToArray()));
    }

    [Test]
    public void Endless_stderr_does_not_stop_the_program()
    {
        using ProcessLink link = ProcessLink.Run(_clock, "/usr/bin/python3", ["-c", """
            import sys
            sys.stderr.write("x" * 5_000_000); sys.stderr.flush()
            print("done", flush=True)
            sys.stdin.read()
            """]);
        var recorder = new Recorder();
        link.Start(recorder);
        Assert.That(recorder.WaitForBytes(5), Is.EqualTo("done\n"u8.ToArray()));
    }

    [Test]
    public void A_program_that_ends_when_stdin_closes_is_left_to_end_by_itself()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        string mark = folder.File("ended");
        ProcessLink link = ProcessLink.Run(_clock, "/usr/bin/python3", ["-c", """
            import sys
            print("up", flush=True)
            sys.stdin.read()
            open(sys.argv[1], "w").close()
            """, mark]);
        var recorder = new Recorder();
        link.Start(recorder);
        recorder.WaitForBytes(3);
        Within.Seconds(1, "Dispose", link.Dispose);
        Assert.That(File.Exists(mark), Is.True, "it was killed although it was about to end");
    }

    [Test]
    public void A_program_that_ignores_everything_is_gone_after_dispose_with_its_children()
    {
        ProcessLink link = ProcessLink.Run(_clock, "/usr/bin/python3", ["-c", """
            import os, signal, subprocess, time
            signal.signal(signal.SIGTERM, signal.SIG_IGN)
            child = subprocess.Popen(["sleep", "1000"])
            print(os.getpid(), child.pid, flush=True)
            while True: time.sleep(1000)
            """]);
        var recorder = new Recorder();
        link.Start(recorder);
        recorder.WaitForBytes(4, 5);
        int[] ids = [.. System.Text.Encoding.ASCII.GetString(recorder.Bytes).Split(' ').Select(int.Parse)];
        Within.Seconds(1, "Dispose", link.Dispose);
        // The kill is sent when Dispose returns; a process that is just being scheduled takes a moment to die of it.
        foreach (int id in ids) { Assert.That(() => IsRunning(id), Is.False.After(2_000, 5), $"process {id} is still there"); }
    }

    /// <summary>A killed grandchild may be a zombie for as long as its new parent takes to collect it; it does not run any more.</summary>
    private static bool IsRunning(int id)
    {
        try
        {
            using Process process = Process.GetProcessById(id);
            string state = File.ReadAllText($"/proc/{id}/stat").Split(") ")[^1];
            return state[0] is not ('Z' or 'X');
        }
        catch (Exception e) when (e is ArgumentException or IOException) { return false; }
    }
}

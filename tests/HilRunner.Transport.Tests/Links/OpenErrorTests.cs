using System.Diagnostics;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Testing;
using HilRunner.Transport.Links;
using HilRunner.Transport.Ports;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Tests.Links;

/// <summary>Each way in which opening fails has its own cause and its own advice.</summary>
[TestFixture]
[Timing("retries are held to their limit by the clock")]
public sealed class OpenErrorTests
{
    private readonly HostClock _clock = new(TimeProvider.System);

    private LinkException Refusal(LinkSpec spec) => Assert.Throws<LinkException>(() => Opener.Create(_clock).Open(spec))!;

    [Test]
    public void A_path_that_does_not_exist_is_missing()
    {
        LinkException failure = Refusal(new SerialLinkSpec("/dev/no-such-port", 115_200));
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.Missing));
        Assert.That(failure.Message, Does.Contain("/dev/no-such-port does not exist").And.Contain("plug the board in"));
    }

    [TestCase("/dev", "a directory")]
    [TestCase("/etc/passwd", "a plain file")]
    [TestCase("/dev/null", "a device of another kind (mem)")]
    [TestCase("/dev/tty", "a console of this machine")]
    [TestCase("/dev/ptmx", "a console of this machine")]
    [TestCase("/dev/full", "a device of another kind (mem)")]
    public void What_is_no_port_is_of_the_wrong_kind(string path, string found)
    {
        foreach (LinkSpec spec in (LinkSpec[])[new SerialLinkSpec(path, 115_200), new PtyLinkSpec(path)])
        {
            LinkException failure = Refusal(spec);
            Assert.That(failure.Fault, Is.EqualTo(LinkFault.WrongKind));
            Assert.That(failure.Message, Does.Contain($"{path} is {found}").And.Contain("hil ports"));
        }
    }

    [Test]
    public void A_port_that_another_process_holds_is_busy_and_the_holder_is_named()
    {
        using PtyHost host = PtyHost.Create(_clock);
        // flock as pyserial takes it (serialposix.py, exclusive=True).
        const string script = """
            import serial, sys
            port = serial.Serial(sys.argv[1], exclusive=True)
            print("held", flush=True)
            sys.stdin.read()
            """;
        using var holder = new Child("/usr/bin/python3", "-c", script, host.Path);
        Assert.That(holder.ReadLine(), Is.EqualTo("held"));
        LinkException failure = Refusal(new SerialLinkSpec(host.Path, 115_200));
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.Busy));
        Assert.That(failure.Message, Does.Contain($"{host.Path} is in use by").And.Contain($"pid {holder.Id} (python3)"));
    }

    [Test]
    public void Other_programs_that_ask_cannot_take_a_port_we_hold()
    {
        using PtyHost host = PtyHost.Create(_clock);
        using ILink link = Opener.Create(_clock).Open(new SerialLinkSpec(host.Path, 115_200));
        string said = Child.Python("""
            import serial, sys
            try:
                serial.Serial(sys.argv[1], exclusive=True)
                print("opened")
            except serial.SerialException as e:
                print(e)
            """, host.Path);
        Assert.That(said, Does.Contain("Could not exclusively lock port"));
        Assert.That(Refusal(new PtyLinkSpec(host.Path)).Message, Does.Contain("this program itself"));
    }

    [Test]
    public void A_port_can_be_opened_again_after_it_was_closed()
    {
        using PtyHost host = PtyHost.Create(_clock);
        for (int n = 0; n < 3; n++) { Opener.Create(_clock).Open(new SerialLinkSpec(host.Path, 115_200)).Dispose(); }
    }

    [Test]
    public void Denied_names_the_group_that_may_use_the_port()
    {
        // 0o660, group 20: "dialout" on Debian (base-passwd, group.master).
        Assert.That(FileStatus.Of("/dev/null", out FileStatus node), Is.EqualTo(Errno.None));
        FileStatus grouped = node with { Mode = (node.Mode & ~0xFFF) | 0x1B0, Group = 20 };
        LinkException failure = PortAccess.Explain("/dev/ttyACM0", Errno.EACCES, grouped, new PortLister());
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.Denied));
        Assert.That(failure.Message, Does.Contain("group dialout").And.Contain("sudo usermod -aG dialout $USER"));
        LinkException closed = PortAccess.Explain("/dev/ttyACM0", Errno.EACCES, grouped with { Mode = 0x2180 }, new PortLister());
        Assert.That(closed.Message, Does.Contain("mode is 0600").And.Not.Contain("usermod"));
    }

    [Test]
    public void The_system_denies_a_port_to_a_user_without_rights()
    {
        if (Environment.UserName != "root" || !File.Exists("/usr/bin/setpriv"))
        {
            TestPaths.Lacks("needs root and setpriv, to become a user without rights");
        }
        // A new pseudo-terminal belongs to who made it; others may at most write to it.
        using PtyHost host = PtyHost.Create(_clock);
        // The same open(2) call, by another user: what the errno is decides which message is given.
        using var other = new Child("/usr/bin/setpriv", "--reuid=65534", "--clear-groups", "/usr/bin/python3", "-c", """
            import os, sys
            try:
                os.open(sys.argv[1], os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
                print(0)
            except OSError as e:
                print(e.errno)
            """, host.Path);
        var error = (Errno)int.Parse(other.ReadToEnd());
        Assert.That(error, Is.EqualTo(Errno.EACCES));
        FileStatus.Of(host.Path, out FileStatus status);
        Assert.That(PortAccess.Explain(host.Path, error, status, new PortLister()).Fault, Is.EqualTo(LinkFault.Denied));
    }

    [Test]
    public void Two_boards_that_fit_are_ambiguous_and_none_is_opened()
    {
        using var tree = new Ports.MadeUpTree();
        tree.AddUsb("1-1", "ttyACM0", "1209", "0001", null, "Parcel tag", 0);
        tree.AddUsb("1-2", "ttyACM1", "1209", "0001", null, "Parcel tag", 0);
        LinkOpener opener = Opener.Create(_clock, new PortLister(tree.SysRoot, tree.DevRoot));
        var failure = Assert.Throws<LinkException>(() => opener.Open(new SerialLinkSpec("usb:1209:0001", 115_200)))!;
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.Ambiguous));
    }

    [Test]
    public void A_board_that_comes_back_under_another_name_is_found_by_its_identity()
    {
        using var tree = new Ports.MadeUpTree();
        LinkOpener opener = Opener.Create(_clock, new PortLister(tree.SysRoot, tree.DevRoot));
        var spec = new SerialLinkSpec("usb:1209:0001:A7F3", 115_200);
        using PtyHost first = PtyHost.Create(_clock);
        tree.AddUsb("1-1", "ttyACM0", "1209", "0001", "A7F3", "Parcel tag", 0);
        tree.PointNode("ttyACM0", first.Path);
        using ILink link = opener.Open(spec);
        var near = new Recorder();
        link.Start(near);
        first.Vanish();
        near.WaitForLoss();
        link.Dispose();
        tree.RemoveTty("ttyACM0");
        Assert.That(Assert.Throws<LinkException>(() => opener.Open(spec))!.Fault, Is.EqualTo(LinkFault.Missing));

        using PtyHost second = PtyHost.Create(_clock);
        Within.Running replug = Within.Begin(() =>
        {
            tree.PointNode("ttyACM1", second.Path);
            tree.AddUsb("1-1", "ttyACM1", "1209", "0001", "A7F3", "Parcel tag", 1);
        });
        using ILink again = opener.OpenWithRetry(spec, TimeSpan.FromSeconds(5));
        replug.End(1, "plugging in again");
        var recorder = new Recorder();
        again.Start(recorder);
        second.Write([7], TimeSpan.FromSeconds(1));
        Assert.That(recorder.WaitForBytes(1), Is.EqualTo([7]));
        Assert.That(Path.GetFileName(again.Name), Is.EqualTo("ttyACM1"));
    }

    [Test]
    public void Retrying_gives_up_at_its_limit_with_the_last_cause()
    {
        var watch = Stopwatch.StartNew();
        var failure = Assert.Throws<LinkException>(() =>
            Opener.Create(_clock).OpenWithRetry(new SerialLinkSpec("/dev/no-such-port", 115_200), TimeSpan.FromMilliseconds(350)))!;
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.Missing));
        Assert.That(watch.ElapsedMilliseconds, Is.InRange(350, 1500));
    }

    [Test]
    public void Retrying_does_not_retry_what_time_does_not_mend()
    {
        var watch = Stopwatch.StartNew();
        Assert.That(Assert.Throws<LinkException>(() => Opener.Create(_clock).OpenWithRetry(new SerialLinkSpec("/etc/passwd", 115_200), TimeSpan.FromSeconds(30)))!.Fault,
            Is.EqualTo(LinkFault.WrongKind));
        Assert.That(watch.ElapsedMilliseconds, Is.LessThan(5000));
    }

    [Test]
    public void A_tcp_port_where_nobody_listens_is_missing()
    {
        int port;
        using (TcpHost host = TcpHost.Listen(_clock, 0)) { port = host.Port; }
        LinkException failure = Refusal(new TcpLinkSpec("127.0.0.1", port));
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.Missing));
        Assert.That(failure.Message, Does.Contain($"tcp:127.0.0.1:{port}").And.Contain("nobody listens there"));
    }

    [Test]
    public void A_host_that_does_not_exist_is_missing()
    {
        // .invalid never resolves: RFC 6761, section 6.4.
        LinkException failure = Refusal(new TcpLinkSpec("board.invalid", 4000));
        Assert.That(failure.Fault, Is.EqualTo(LinkFault.Missing));
        Assert.That(failure.Message, Does.Contain("no such host"));
    }

    [Test]
    public void A_program_that_does_not_exist_is_missing_and_one_that_is_no_program_is_denied()
    {
        LinkException missing = Refusal(new ProcessLinkSpec("no-such-program", []));
        Assert.That(missing.Fault, Is.EqualTo(LinkFault.Missing));
        Assert.That(missing.Message, Does.Contain("no-such-program"));
        using TemporaryFolder folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("adapter"), "text");
        LinkException denied = Refusal(new ProcessLinkSpec(folder.File("adapter"), []));
        Assert.That(denied.Fault, Is.EqualTo(LinkFault.Denied));
        Assert.That(denied.Message, Does.Contain("chmod +x"));
    }

    [Test]
    public void Settings_that_no_port_can_do_are_refused_before_it_is_opened()
    {
        var spec = new SerialLinkSpec("/dev/no-such-port", 115_200);
        foreach (SerialLinkSpec wrong in (SerialLinkSpec[])[spec with { Baud = 0 }, spec with { DataBits = 9 }, spec with { StopBits = 3 },
            spec with { StopBits = 1.5 }, spec with { Handshake = SerialHandshake.RtsCts, Rts = LineState.On }])
        {
            Assert.That(Refusal(wrong).Fault, Is.EqualTo(LinkFault.Unsupported), wrong.ToString());
        }
    }
}

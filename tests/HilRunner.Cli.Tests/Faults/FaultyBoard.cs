using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Links;

namespace HilRunner.Cli.Tests.Faults;

/// <summary>Where in a run a fault strikes, as the far end of the link sees it.</summary>
internal enum Phase { Prepare, Identify, Sync, Playout, Drain, Scoring }

/// <summary>
/// A real device (virtual, or firmware on the emulator) behind a pseudo-terminal that can be unplugged, and a hand that does something to it once, at a given message of a given phase of the
/// first run. Keeps every byte that it put on the line, plug by plug.
/// </summary>
internal sealed class FaultyBoard : ILinkReceiver, IDisposable
{
    private static readonly TimeSpan s_write = TimeSpan.FromSeconds(10);
    private readonly HostClock _clock;
    private readonly Func<ILink> _power;
    private readonly string _port, _powerSwitch;
    private readonly object _gate = new();
    private readonly List<MemoryStream> _said = [];
    private readonly StringBuilder _line = new();
    private readonly Thread _switch;
    private PtyHost _host;
    private ILink? _device;
    private Phase _phase = Phase.Prepare;
    private int _inPhase, _clockAnswers;
    private bool _fired, _begun, _over;

    /// <param name="power">Switches a new device on.</param>
    /// <param name="port">The name of the port, as the rig file says it.</param>
    /// <param name="powerSwitch">A file that takes the device's power away, and gives it back, when it appears.</param>
    public FaultyBoard(HostClock clock, Func<ILink> power, string port, string powerSwitch)
    {
        (_clock, _power, _port, _powerSwitch) = (clock, power, port, powerSwitch);
        _host = Plug();
        PowerOn();
        _switch = new(WatchSwitch) { IsBackground = true };
        _switch.Start();
    }

    /// <summary>When the fault strikes: before the message of this number of its phase is passed on, or, after a run, that many milliseconds later.</summary>
    public (Phase Phase, int At) When { get; init; }
    public Action<FaultyBoard> Fault { get; init; } = _ => { };

    public bool Hangs { get; set; }
    public bool NoCredit { get; set; }
    public bool NoAnswer { get; set; }
    public bool Fired { get { lock (_gate) { return _fired; } } }

    /// <summary>What was put on the line, one stretch from plug to unplug after another.</summary>
    public IReadOnlyList<byte[]> Said { get { lock (_gate) { return [.. _said.Select(s => s.ToArray())]; } } }

    /// <summary>Strikes now; for the phase in which nothing is said.</summary>
    public void Strike()
    {
        lock (_gate)
        {
            if (_fired) { return; }
            _fired = true;
        }
        Fault(this);
    }

    public void Unplug() => _host.Vanish();

    /// <summary>Under another name than before; a board that was unplugged starts anew.</summary>
    public void Replug()
    {
        lock (_gate) { _host = Plug(); }
        PowerCycle();
    }

    public string PortPath => _host.Path;

    public void PowerCycle()
    {
        lock (_gate)
        {
            _device?.Dispose();
            _device = null;
            Hangs = false;
            NoCredit = false;
            NoAnswer = false;
        }
        PowerOn();
    }

    public void Say(byte[] bytes)
    {
        lock (_gate)
        {
            try
            {
                _host.Write(bytes, TimeSpan.FromMilliseconds(200));
                _said[^1].Write(bytes);
            }
            catch (LinkException)
            {
                // Nobody reads it: some of it may lie in the terminal's buffer.
                _said[^1].Write(bytes);
            }
        }
    }

    public void Dispose()
    {
        _over = true;
        _switch.Join();
        _host.Dispose();
        lock (_gate) { _device?.Dispose(); }
    }

    // What the host says.
    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        foreach (byte b in bytes)
        {
            _line.Append((char)b);
            if (b != '\n') { continue; }
            string line = _line.ToString();
            _line.Clear();
            if (Enter(line)) { Fault(this); }
            ILink? device;
            lock (_gate)
            {
                if (line.StartsWith("reset", StringComparison.Ordinal) && !Hangs) { (NoCredit, NoAnswer) = (false, false); }
                device = Hangs ? null : _device;
            }
            try { device?.Write(Encoding.ASCII.GetBytes(line), s_write); }
            catch (LinkException)
            {
                // The device is being switched: what is said to it now is lost.
            }
        }
    }

    public void OnLost(LinkException cause, HostTime at) { }

    /// <returns>Whether the fault strikes now.</returns>
    private bool Enter(string line)
    {
        lock (_gate)
        {
            Phase phase = line[0] switch { 'i' => Phase.Identify, 's' => Phase.Playout, 'e' => Phase.Drain, 't' when !_begun => Phase.Sync, _ => _phase };
            if (line[0] is 'b' or 's') { _begun = true; }
            if (line[0] == 'r') { return false; }
            if (phase != _phase) { (_phase, _inPhase) = (phase, 0); }
            else { _inPhase++; }
            if (_fired || _phase != When.Phase || _inPhase != When.At) { return false; }
            return _fired = true;
        }
    }

    private PtyHost Plug()
    {
        var host = PtyHost.Create(_clock);
        File.Delete(_port);
        File.CreateSymbolicLink(_port, host.Path);
        _said.Add(new());
        host.Start(this);
        return host;
    }

    private void PowerOn()
    {
        ILink device = _power();
        lock (_gate) { _device = device; }
        device.Start(new Ear(this));
    }

    private void WatchSwitch()
    {
        while (!_over)
        {
            if (File.Exists(_powerSwitch))
            {
                File.Delete(_powerSwitch);
                PowerCycle();
            }
            Thread.Sleep(20);
        }
    }

    private void OnDeviceLine(byte[] line)
    {
        bool runIsOver = false;
        lock (_gate)
        {
            if (Hangs || (NoCredit && line[0] == 'k') || (NoAnswer && line[0] is (byte)'i' or (byte)'t')) { return; }
            try
            {
                _host.Write(line, s_write);
                _said[^1].Write(line);
            }
            catch (LinkException) { return; }
            // The host reads the clock eight times after a run; then it scores.
            if (_phase == Phase.Drain && line[0] == 't' && ++_clockAnswers == 8 && !_fired && When.Phase == Phase.Scoring) { runIsOver = _fired = true; }
        }
        if (runIsOver)
        {
            new Thread(() =>
            {
                Thread.Sleep(When.At);
                Fault(this);
            }).Start();
        }
    }

    /// <summary>Hears one device; what a device says that was switched off meanwhile is not passed on.</summary>
    private sealed class Ear(FaultyBoard board) : ILinkReceiver
    {
        private readonly List<byte> _line = [];

        public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
        {
            foreach (byte b in bytes)
            {
                _line.Add(b);
                if (b != '\n') { continue; }
                board.OnDeviceLine([.. _line]);
                _line.Clear();
            }
        }

        public void OnLost(LinkException cause, HostTime at) { }
    }
}

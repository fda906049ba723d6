using System.Globalization;
using System.Net;
using System.Net.Sockets;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Links;

/// <summary>
/// The device's side of a TCP port on this machine (loopback only). Serves one client at a time; a second one is turned away at
/// once. That a client leaves is no loss on this side: the next may come. A write waits for a client, up to its limit.
/// </summary>
public sealed class TcpHost : ILink
{
    private static readonly TimeSpan JoinLimit = TimeSpan.FromMilliseconds(500);
    private const int BufferBytes = 64 * 1024;
    private readonly HostClock _clock;
    private readonly Socket _listener;
    private readonly Descriptor _listening;
    private readonly WakeEvent _wake = new();
    private readonly WakeEvent _started = new();
    private readonly ClientSlot _slot = new();
    private readonly Thread _thread;
    private ILinkReceiver? _receiver;
    private int _disposed;

    private TcpHost(HostClock clock, Socket listener)
    {
        (_clock, _listener) = (clock, listener);
        _listening = TcpLink.OwnDescriptor(listener);
        Port = ((IPEndPoint)listener.LocalEndPoint!).Port;
        _thread = new(Run) { Name = $"reader of {Name}", IsBackground = true };
        _thread.Start();
    }

    /// <summary>Where clients connect, on 127.0.0.1.</summary>
    public int Port { get; }

    public string Name => string.Create(CultureInfo.InvariantCulture, $"tcp:127.0.0.1:{Port}");

    /// <param name="port">0: any free one.</param>
    /// <exception cref="LinkException">Busy: the port is taken.</exception>
    public static TcpHost Listen(HostClock clock, int port)
    {
        string name = string.Create(CultureInfo.InvariantCulture, $"tcp:127.0.0.1:{port}");
        PosixOnly.Check(name);
        var listener = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp);
        try
        {
            listener.Bind(new IPEndPoint(IPAddress.Loopback, port));
            listener.Listen(1);
            return new(clock, listener);
        }
        catch (SocketException e)
        {
            listener.Dispose();
            throw new LinkException(LinkFault.Busy,
                $"{name} cannot be listened on ({e.SocketErrorCode}); end the program that uses this port, or take another (0: any)", e);
        }
    }

    /// <summary>The first client is let in before, and can be written to; what it sends waits until here.</summary>
    public void Start(ILinkReceiver receiver)
    {
        if (Interlocked.CompareExchange(ref _receiver, receiver, null) is not null) { throw new InvalidOperationException($"{Name} is started already"); }
        _started.Set();
    }

    public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit)
    {
        WriteLimit.Check(limit);
        HostTime begin = _clock.Now;
        while (true)
        {
            int leftMs = WriteLimit.RemainingMs(limit, _clock.Now - begin);
            if (_slot.Wait(leftMs) is not { } client)
            {
                throw _wake.IsSet ? LinkErrors.Closed(Name) : LinkErrors.WriteTimeout(Name, 0, bytes.Length, limit);
            }
            TimeSpan left = leftMs < 0 ? Timeout.InfiniteTimeSpan : TimeSpan.FromMilliseconds(leftMs);
            try { return DescriptorWriter.Write(client, _wake, _clock, Name, bytes, left); }
            catch (LinkException e) when (e.Fault == LinkFault.Lost && !_wake.IsSet)
            {
                // This client left; what it did not take whole goes to the next one, whole.
                _slot.Remove(client);
            }
        }
    }

    /// <summary>Gone at once, with the client's connection.</summary>
    public void Vanish() => Dispose();

    public void Dispose()
    {
        if (Interlocked.Exchange(ref _disposed, 1) != 0) { return; }
        _wake.Set();
        _slot.Close();
        if (_thread != Thread.CurrentThread) { _thread.Join(JoinLimit); }
    }

    /// <summary>What the thread uses is its own to close, for it may be in a callback when the host is disposed.</summary>
    private void Run()
    {
        Serve();
        _slot.Close();
        _listening.Dispose();
        _started.Dispose();
        _wake.Dispose();
    }

    private unsafe void Serve()
    {
        const int Wake = 0, Listener = 1, Client = 2, Started = 3;
        byte[] buffer = GC.AllocateUninitializedArray<byte>(BufferBytes, pinned: true);
        PollEntry* entries = stackalloc PollEntry[4];
        entries[Wake] = new(_wake.Descriptor.Number, Libc.POLLIN);
        entries[Listener] = new(_listening.Number, Libc.POLLIN);
        Descriptor? client = null;
        while (!_wake.IsSet)
        {
            // A negative number is left out by poll.
            ILinkReceiver? receiver = _started.IsSet ? _receiver : null;
            entries[Client] = new(receiver is null ? -1 : client?.Number ?? -1, Libc.POLLIN);
            entries[Started] = new(receiver is null ? _started.Descriptor.Number : -1, Libc.POLLIN);
            if (Libc.Poll(entries, 4, -1) < 0) { continue; }
            if (entries[Client].Found != 0 && !ReadOnce(client!, buffer, receiver!))
            {
                _slot.Remove(client!);
                client!.Dispose();
                client = null;
            }
            if ((entries[Listener].Found & Libc.POLLIN) != 0) { client = Admit(client); }
        }
        client?.Dispose();
    }

    /// <summary>False when the client has left.</summary>
    private unsafe bool ReadOnce(Descriptor client, byte[] buffer, ILinkReceiver receiver)
    {
        fixed (byte* start = buffer)
        {
            nint count = Libc.Read(client.Number, start, BufferBytes);
            HostTime arrival = _clock.Now;
            if (count > 0) { receiver.OnReceived(new(start, (int)count), arrival); }
            return count > 0 || (count < 0 && Libc.LastError is Errno.EAGAIN or Errno.EINTR);
        }
    }

    private Descriptor? Admit(Descriptor? current)
    {
        Socket socket;
        try { socket = _listener.Accept(); }
        // The client gave up between the poll and here.
        catch (SocketException) { return current; }
        if (current is not null)
        {
            socket.Dispose();
            return current;
        }
        socket.NoDelay = true;
        Descriptor client = TcpLink.OwnDescriptor(socket);
        _slot.Put(client);
        return client;
    }

    /// <summary>Where writers find the present client, or wait for one.</summary>
    private sealed class ClientSlot
    {
        private readonly object _gate = new();
        private Descriptor? _client;
        private bool _closed;

        public void Put(Descriptor client)
        {
            lock (_gate)
            {
                _client = client;
                Monitor.PulseAll(_gate);
            }
        }

        public void Remove(Descriptor client)
        {
            lock (_gate)
            {
                if (_client == client) { _client = null; }
            }
        }

        public void Close()
        {
            lock (_gate)
            {
                _closed = true;
                Monitor.PulseAll(_gate);
            }
        }

        /// <summary>Null: none came in time, or the host is closed.</summary>
        public Descriptor? Wait(int limitMs)
        {
            lock (_gate)
            {
                while (_client is null && !_closed)
                {
                    if (!Monitor.Wait(_gate, limitMs)) { break; }
                }
                return _closed ? null : _client;
            }
        }
    }
}

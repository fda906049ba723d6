using System.ComponentModel;
using System.Runtime.InteropServices;

namespace HilRunner.Transport.Posix;

/// <summary>Ends every poll it is part of, for good: once set it stays set (an eventfd that is never read).</summary>
internal sealed unsafe class WakeEvent : IDisposable
{
    private volatile bool _isSet;

    public WakeEvent()
    {
        int number = Libc.EventFd(0, Libc.EFD_CLOEXEC | Libc.EFD_NONBLOCK);
        if (number < 0) { throw new Win32Exception(Marshal.GetLastPInvokeError()); }
        Descriptor = new(number);
    }

    public Descriptor Descriptor { get; }

    public bool IsSet => _isSet;

    /// <summary>Safe from any thread, any number of times, also after it is disposed.</summary>
    public void Set()
    {
        _isSet = true;
        if (!Descriptor.TryHold()) { return; }
        ulong one = 1;
        // The counter cannot overflow in practice; if it did, it would be readable all the same, which is all that counts.
        _ = Libc.Write(Descriptor.Number, (byte*)&one, sizeof(ulong));
        Descriptor.DangerousRelease();
    }

    public void Dispose() => Descriptor.Dispose();
}
